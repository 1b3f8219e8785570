/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MAKE_SHAFT_H
#define BW_MAKE_SHAFT_H

#include "make_case.h"
#include "sim/slip_step.h"

/** RV-1 rolling at 20 m/s on tyres a hundred times stiffer than any, a machine of 4.05 kg m2 (at
 *  the axle) in front behind a shaft: with body and wheels two inertias on one spring. */
struct shaft_bench {
  struct bw_case *made; /**< free with free_case() */
  struct bw_slip slip;
  struct bw_slip_torques torques;
  double machine; /**< kg m2, J1 */
  double car;     /**< kg m2, J2, body and wheels at the axle */
};

void make_shaft_bench(struct bw_driveline line, struct shaft_bench *bench);

/** Advance by `length` (s). */
void shaft_step(struct shaft_bench *bench, double length);

/** Frequency (Hz) at which a wound-up shaft of `stiffness` (N m/rad) swings, counted from the
 *  crossings of one second in steps of 20 us. */
double shaft_frequency(double stiffness);

#endif
