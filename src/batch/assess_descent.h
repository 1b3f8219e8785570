/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_DESCENT_H
#define BW_ASSESS_DESCENT_H

#include "batch/assess.h"
#include "batch/assess_fade.h"

/** Long descents, laden, with a full battery and with the case's own charge: 6 % and 7 % over 6 km
 *  at 30 km/h (shapes of UN R13 Type-II and Type-IIA, from memory; no descent is asked of cars) and
 *  the user's own (descent.profile). Where the machines stop braking, how hot rotors and pads get,
 *  and what a stop from 100 km/h behind it still gives. */
extern const struct bw_assess_family BW_ASSESS_DESCENT;

/** Regeneration has ended where, from there on, less than this share of the braking work arrives at
 *  the battery in each stretch of the descent. Auxiliaries take their part first, so machines go on
 *  braking for them and for their own losses. Chosen here. */
#define BW_DESCENT_SHARE 0.1

enum { BW_DESCENT_STRETCHES = 240 }; /**< rows of descent.csv per descent */

/** The end of a stretch, and means over it. */
struct bw_descent_point {
  double distance;       /**< m */
  double time;           /**< s */
  double speed;          /**< m/s */
  double sine;           /**< of the slope */
  double charge;         /**< 0..1 */
  double charge_power;   /**< W the DC link could take */
  double battery_power;  /**< W into the battery's terminals, mean, signed */
  double machine_power;  /**< W of braking at the axles, mean */
  double friction_power; /**< W, mean */
  double rotor[2];       /**< K */
  double pad[2];         /**< K */
};

/** One descent of one strategy. */
struct bw_descent {
  const struct bw_blend_strategy *strategy;
  char profile[BW_NAME_MAX];
  enum bw_stop_charge charge;
  enum bw_load_state load;
  size_t count;
  struct bw_descent_point point[BW_DESCENT_STRETCHES];
};

/** Distance (m) at which regeneration ends: 0 when it never was, the whole length when it lasts. */
double bw_descent_regeneration_end(const struct bw_descent *descent);

#endif
