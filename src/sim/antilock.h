/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SIM_ANTILOCK_H
#define BW_SIM_ANTILOCK_H

#include "input/case.h"

/** Generic slip controller: three commands to the pressure valve of one channel (an axle or a
 *  wheel), from the slip ahead s + lead ds/dt.
 *
 *    release  slip ahead above slip_release
 *    build    slip ahead below slip_build, once an intervention runs
 *    hold     between
 *
 *  An intervention starts with the first release and ends when the built-up pressure has met the
 *  driver's again, or below off_speed. What it knows of the speeds is the matter
 *  of sim/wheel_sense.h. */

enum bw_antilock_valve { BW_ANTILOCK_OPEN, BW_ANTILOCK_HOLD, BW_ANTILOCK_RELEASE };

/** What one channel is decided by. */
struct bw_antilock_view {
  double slip;    /**< braking slip */
  double speed;   /**< m/s, of the car, >= 0 */
  double filter;  /**< s, first-order, of the slip's rate; 0: none */
  bool is_braked; /**< pressure or machine brakes these wheels */
};

struct bw_antilock_channel {
  enum bw_antilock_valve valve; /**< OPEN: build towards the driver's pressure */
  bool is_active;
  double slip; /**< of the last decision */
  double lead; /**< lead x rate of slip, filtered */
};

/** Decide for one channel. */
void bw_antilock_decide(const struct bw_antilock *setup, struct bw_antilock_channel *channel,
                        const struct bw_antilock_view *view);

/** Pressure (Pa) after `step` s of the channel's valve, from `pressure`, with `driver` (Pa) behind
 *  the valve; never above `driver`. Ends the intervention when both have met. */
double bw_antilock_pressure(const struct bw_antilock *setup, struct bw_antilock_channel *channel,
                            double pressure, double driver, double step);

/** Greatest braking torque that the machine of an axle may give. */
struct bw_antilock_machine {
  double cap;   /**< N m, INFINITY: free */
  double quiet; /**< s since the last intervention */
  bool is_held_back;
  enum bw_regeneration_policy policy; /**< the strategy's, or the car's */
};

/** Advance the cap by `step` s. `is_active`: a channel of the axle intervenes; `valve` its worst
 *  command; `torque` the machine's present braking torque (N m). */
void bw_antilock_hold_back(const struct bw_antilock *setup, struct bw_antilock_machine *machine,
                           bool is_active, enum bw_antilock_valve valve, double torque,
                           double step);

#endif
