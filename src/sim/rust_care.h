/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RUST_CARE_H
#define BW_RUST_CARE_H

#include "input/case.h"

#include <stdbool.h>

/** A least amount of friction work, so that rotors stay clean: an option for any strategy.
 *
 *  A brake that a machine spares for weeks rusts. While the friction work W_i of axle i since the
 *  start stays below its target w_i times the distance and braking is gentle, part of the machines'
 *  torque is moved to friction on that axle, first from its own machine, then from the other one:
 *
 *    x_i -> s (M_1 + M_2) while W_i < w_i x, else 0,   changing by no more than R per period
 *    F_i' = F_i + x_i,   M' lower by the same:         the sum of the requests is kept
 *
 *  s = 0.3, R the exchange whose dip is a quarter of the felt line (closed form, derived, HO-2).
 *  Gentle means a demand below z = 0.14, where the order of the axles is not asked for. Work is
 *  what a controller knows: pressure times nominal torque per pressure times way. With one pressure
 *  for both axles the plant spreads what is moved.
 *  Source: friction work deliberately kept, families of Pugi et al. IJEHV 12 (2020) and Komnos et
 *  al. Energies 18 (2025) 4104 (abstracts read); the law is ours. */

/** Memory of one run, zero at the start. */
struct bw_rust_care_state {
  double distance; /**< m */
  double work[2];  /**< J, friction as estimated */
  double moved[2]; /**< N m, on top of the strategy's request */
  double shown[2]; /**< N m, what of it the friction gives by now, as estimated */
};

/** True when some axle has a target; the functions below change nothing otherwise. */
static inline bool bw_rust_care_is_on(const struct bw_rust_care *care) {
  return care->work_per_distance[0] > 0.0 || care->work_per_distance[1] > 0.0;
}

/** Before a strategy's step: count work and way, and take out of *input the friction torque that
 *  is there on top of what the strategy asked for (moved torque through a lag of tau + theta), or
 *  a strategy that mends what friction gives would take it for an error. */
void bw_rust_care_look(const struct bw_rust_care *care, const struct bw_blend_info *info,
                       struct bw_rust_care_state *state, struct bw_blend_input *input);

/** After the step: shift *request. Depends on its arguments only. */
void bw_rust_care_apply(const struct bw_rust_care *care, const struct bw_blend_info *info,
                        const struct bw_blend_input *input, struct bw_rust_care_state *state,
                        struct bw_blend_request *request);

#endif
