/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REACH_PATH_H
#define BW_REACH_PATH_H

#include "assess/reach_plan.h"

/** What a blend came to that followed a plan. */
struct bw_reach_end {
  double energy; /**< J into the terminals while braking; NaN when it could not be followed */
  bool was_held; /**< the battery took less than the machines could give */
};

/** Brake the run again, forward, with `plan` or, without one (NULL), with all that goes at once.
 *  `log` (may be NULL, zeroed but for `longest`) is filled with stages.
 *  BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_reach_follow(const struct bw_reach *reach, bool has_rule,
                                             const struct bw_reach_plan *plan,
                                             struct bw_reach_log *log, struct bw_reach_end *end,
                                             struct bw_diag *diag);

#endif
