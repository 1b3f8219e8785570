/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MAKE_SLIP_H
#define BW_MAKE_SLIP_H

#include "check.h"
#include "make_case.h"

/** RV-1 on wheels of its own: `surface`, no road load, wheels of 1.1 kg m2 per axle, no antilock,
 *  rigid drivelines, relaxation 0.1 m, grip of the curve. */
static inline struct bw_case *make_slip_case(enum bw_tyre_surface surface) {
  struct bw_case *made = make_case();
  made->fidelity = BW_FIDELITY_SLIP;
  made->slip = (struct bw_slip_setup){
      .step = 1e-4, .tyre = {.surface = surface, .relaxation = 0.1, .low_speed = 0.1}};
  assert_int_equal(bw_tyre_prepare(&made->slip.tyre, NULL), BW_OK);
  made->vehicle.adhesion = made->slip.tyre.peak;
  made->vehicle.wheel_inertia[0] = made->vehicle.wheel_inertia[1] = 1.1;
  made->vehicle.road_f0 = made->vehicle.road_f1 = made->vehicle.road_f2 = 0.0;
  return made;
}

/** Fit an antilock controller with ordinary settings. */
static inline void make_antilock(struct bw_case *made, enum bw_regeneration_policy policy) {
  made->slip.antilock = (struct bw_antilock){.is_fitted = true,
                                             .period = 0.005,
                                             .slip_release = 0.14,
                                             .slip_build = 0.07,
                                             .lead = 0.015,
                                             .build = 2e7,
                                             .release = 8e7,
                                             .off_speed = 7.0 / 3.6,
                                             .policy = policy,
                                             .ramp = 4000.0,
                                             .recovery = 0.5};
}

#endif
