/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_CYCLE_H
#define BW_ASSESS_CYCLE_H

#include "batch/assess.h"

/** The case's own cycle: energy demand by the published procedure beside ours, the driver against
 *  the trace tolerance, and what part of the braking is left to the friction brakes. */
extern const struct bw_assess_family BW_ASSESS_CYCLE;

/** Friction shares of a cycle as brake-emission rules use them: friction work over what the same
 *  brakes would do if there were no machine. For the car friction / (friction + machine). For an
 *  axle friction_i / (beta_i (friction + machine)), beta_i its fixed part of the friction braking,
 *  torque per pressure over that of both; so sum of beta_i share_i = share of the car. */
struct bw_friction_shares {
  double car;
  double axle[2]; /**< NaN for an axle without friction brakes */
};

/** From the braking work of the friction brakes (J, per axle) and of the machines (J). All NaN
 *  without any braking. */
struct bw_friction_shares bw_friction_shares_of(const struct bw_brakes *brakes,
                                                const double friction[2], double machine);

#endif
