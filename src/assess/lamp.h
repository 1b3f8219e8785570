/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_LAMP_H
#define BW_LAMP_H

#include "assess/period.h"
#include "assess/summary.h"

#include <math.h>

/** Stop lamp on regenerative deceleration, UN R13-H 5.2.22.4 as quoted: at or below 0.7 m/s2 it
 *  must not be lit, above 0.7 up to 1.3 it may, above 1.3 it must. (Which side of a threshold is
 *  inclusive is from memory, not read.)
 *
 *  The lamp modelled here is lit by the brake pedal, or when the low-passed deceleration rises
 *  above a chosen threshold in (0.7, 1.3]; it goes out at or below 0.7 with the pedal released. */

#define BW_LAMP_OFF     0.7 /**< m/s2 */
#define BW_LAMP_MUST_ON 1.3 /**< m/s2 */

struct bw_lamp {
  double threshold;     /**< m/s2 */
  double filter;        /**< s, time constant of the low-pass, 0: none */
  double gain_duration; /**< s, step that `gain` belongs to */
  double gain;
  double deceleration; /**< m/s2, low-passed */
  bool is_started;
  bool is_lit;
  bool is_wrong;        /**< dark where it must be lit or lit where it must be dark */
  double must_on;       /**< s dark while the car itself slows with more than 1.3 m/s2 */
  double must_off;      /**< s lit, pedal released, while it slows with 0.7 m/s2 or less */
  double must_on_spell; /**< s, the running spell, and the longest */
  double must_on_longest;
  double must_off_spell;
  double must_off_longest;
};

/** A dark lamp with its threshold (m/s2) and low-pass (s). */
struct bw_lamp bw_lamp_make(double threshold, double filter);

/** Gain of a step of `duration` (s): a first-order low-pass by the second-order fit of
 *  1 - exp(-x): positive and stable for every x, exact to x^3/12, and no exponential in the loop.
 */
double bw_lamp_gain(double duration, double filter);

/** Note that the lamp is not as it must be, or was not in the step before. */
void bw_lamp_count_wrong(struct bw_lamp *lamp, bool must_be_lit, bool must_be_dark,
                         double duration);

/** Advance by `duration` (s) with the mean `deceleration` (m/s2) and the pedal's state; true when
 *  the lamp is lit at the end. The first call starts the low-pass at its value. */
static inline bool bw_lamp_step(struct bw_lamp *lamp, double deceleration, bool is_pedal_pressed,
                                double duration) {
  if (lamp->is_started) {
    if (fabs(duration - lamp->gain_duration) > 0.0) {
      lamp->gain_duration = duration;
      lamp->gain = bw_lamp_gain(duration, lamp->filter);
    }
    lamp->deceleration += lamp->gain * (deceleration - lamp->deceleration);
  } else {
    lamp->deceleration = deceleration;
    lamp->is_started = true;
  }
  const double line = lamp->is_lit ? BW_LAMP_OFF : lamp->threshold;
  lamp->is_lit = is_pedal_pressed || lamp->deceleration > line;
  const bool must_be_lit = !lamp->is_lit && deceleration > BW_LAMP_MUST_ON;
  const bool must_be_dark = lamp->is_lit && !is_pedal_pressed && deceleration <= BW_LAMP_OFF;
  if (must_be_lit || must_be_dark || lamp->is_wrong) {
    bw_lamp_count_wrong(lamp, must_be_lit, must_be_dark, duration);
  }
  return lamp->is_lit;
}

static inline void bw_lamp_watch(struct bw_lamp *lamp, const struct bw_sample *sample) {
  (void)bw_lamp_step(lamp, sample->deceleration, sample->demand_pedal > 0.0, sample->duration);
}

void bw_lamp_finish(const struct bw_lamp *lamp, struct bw_summary *summary);

#endif
