/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MOMENT_H
#define BW_MOMENT_H

#include "assess/balance.h"
#include "assess/period.h"
#include "sim/run.h"

/** One control period of a run with everything that is known about it. A plain value without
 *  pointers. */

/** The limits of one machine from the inside, at the axle. */
struct bw_moment_machine {
  double cool;            /**< N m, torque, power and speed limits alone */
  double low_speed_share; /**< 0..1 left by the low-speed limit */
  double derating_share;  /**< 0..1 left by heat */
};

struct bw_moment {
  bool is_found;
  double end;                      /**< s, end of the last period that was run */
  struct bw_blend_input input;     /**< what the strategy saw */
  struct bw_blend_request request; /**< what it answered, before any clipping */
  struct bw_sample sample;
  struct bw_period period;
  struct bw_moment_machine machine[2]; /**< zero where none is fitted */
  bool is_felt;                        /**< the band below was judged */
  double low;                          /**< N m, mean of the envelope of gap.h */
  double high;
  double delivered; /**< N m, mean, driving counts negative */
  double dip_peak;  /**< m/s2 */
  double surge_peak;
  bool is_balanced; /**< the check below was made: the axles brake */
  struct bw_balance_check balance;
  double balance_line; /**< most adhesion an axle may use, infinite where the line asks nothing */
};

/** How to find it. */
struct bw_moment_search {
  double at;                       /**< s; the period that holds it is wanted */
  const struct bw_observer *guard; /**< watches as well, NULL: nobody */
};

/** Run `loaded` with `strategy` up to the period that holds search->at and fill *out. When the run
 *  ends before, is_found is false and only `end` holds. Statuses as bw_run() and bw_gap_start(). */
BW_MUST_CHECK enum bw_status bw_moment_find(const struct bw_case *loaded,
                                            const struct bw_blend_strategy *strategy,
                                            const struct bw_moment_search *search,
                                            struct bw_moment *out, struct bw_diag *diag);

#endif
