/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TALLY_H
#define BW_TALLY_H

#include "assess/period.h"
#include "assess/summary.h"

/** Plain counts, peaks and sums of a whole run that need no model of their own: distance,
 *  consumption, currents, temperatures, friction applications, clippings, jolt at rest. */
struct bw_tally {
  const struct bw_case *loaded;
  double application_on;  /**< N m, friction torque that counts as an application */
  double application_off; /**< N m, below which it is over */
  bool has_machine[2];
  double derate_start[2]; /**< K, infinite where no machine is fitted */
  bool has_messages;
  bool is_applied;
  double duration;
  double distance;
  double battery;  /**< J into the terminals, signed */
  double friction; /**< J */
  double applications;
  double charge_start;
  double charge_end;
  double current_peak;        /**< A */
  double voltage_peak;        /**< V */
  double ceiling_time;        /**< s */
  double machine_peak;        /**< K */
  double derated_time;        /**< s */
  double rotor_peak[2];       /**< K */
  double deceleration_before; /**< m/s2 of the period before, NaN before the first */
  double jolt;                /**< m/s2, NaN until the car came to rest */
  double clippings;
  double first_clipping; /**< s, NaN until one happened */
  double shortfall;      /**< N */
  double messages_lost;
  double message_age;       /**< s */
  double message_timed_out; /**< s */
};

struct bw_tally bw_tally_start(const struct bw_judge *judge);
void bw_tally_watch(struct bw_tally *tally, const struct bw_sample *sample);
void bw_tally_finish(const struct bw_tally *tally, struct bw_summary *summary);

#endif
