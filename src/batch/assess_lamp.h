/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_LAMP_H
#define BW_ASSESS_LAMP_H

#include "assess/lamp.h"
#include "batch/assess.h"

/** Stop lamp on regeneration by accelerator release: the car released from its top speed, at most
 *  130 km/h, and the case's own trace with each strategy. Violations that must be lit and that must
 *  be dark apart; result is the longest spell, limit assess.lamp_delay_ms. */

/** What a release of the accelerator looks like. */
struct bw_lift_off {
  struct bw_lamp lamp;
  double start;      /**< m/s */
  double peak;       /**< m/s2, greatest deceleration */
  double peak_speed; /**< m/s, where */
};

/** Release the accelerator of `loaded` at `speed` (m/s) and let the car roll to 1 km/h, for at most
 *  ten minutes: overrun calibration, capped by the machines at `charge` (none: no regeneration),
 *  and road load; no lag of the machines. */
struct bw_lift_off bw_lift_off_roll(const struct bw_case *loaded, enum bw_stop_charge charge,
                                    double speed);

extern const struct bw_assess_family BW_ASSESS_LAMP_CAR;
extern const struct bw_assess_family BW_ASSESS_LAMP_TRACE;

#endif
