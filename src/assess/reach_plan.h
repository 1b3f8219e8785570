/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REACH_PLAN_H
#define BW_REACH_PLAN_H

#include "assess/reach.h"

/** Dynamic programming over charge s and pulse budget w, backward over stages of a run.
 *
 *  Stage k lasts t_k, takes at most the power P_k at the terminals, and with the current I
 *
 *    V_k(s, w) = max over I of I (U + R I) t_k + V_k+1(s + I t_k / C, w + (I_c^2 - I^2) t_k)
 *
 *  U the open-circuit voltage plus the RC voltage of the blend that takes all at once; I between
 *  0 and the least of what P_k, the pulse-limited current and V_max allow, in equal levels; where
 *  P_k is below 0, and in driving, I is what P_k draws, and driving adds no energy. Straight lines
 *  between the points of the grid. The plan proves nothing: it is followed forward (reach.h). */

struct bw_reach_stage {
  size_t first;    /**< number of its first period */
  double duration; /**< s */
  double power;    /**< W at the terminals, mean, battery not considered */
  double rc;       /**< V at its start */
  bool is_braking;
};

/** What following a plan found. */
struct bw_reach_log {
  size_t count;
  size_t capacity;
  struct bw_reach_stage *stages; /**< (count) */
  double charge[2];              /**< lowest and highest on the way */
  double gained;                 /**< charge that came in while braking, 0..1 */
  double longest;                /**< s, given: a stage of braking lasts no longer */
};

struct bw_reach_plan {
  const struct bw_battery *battery;
  const struct bw_reach_log *log;
  size_t charges;
  size_t budgets;
  double charge;      /**< lowest */
  double charge_cell; /**< 0..1 */
  double budget_cell; /**< A2 s */
  double *values;     /**< J, (stages + 1) x charges x budgets */
};

/** What one more unit of state is worth, after stage `stage`. */
struct bw_reach_worth {
  double charge; /**< J */
  double budget; /**< J/(A2 s) */
};

/** Work the plan out. Borrows battery and log. Free with bw_reach_plan_free(). BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_reach_plan_make(const struct bw_battery *battery,
                                                const struct bw_reach_log *log,
                                                const struct bw_reach_grid *grid,
                                                struct bw_reach_plan *plan, struct bw_diag *diag);

struct bw_reach_worth bw_reach_plan_worth(const struct bw_reach_plan *plan, size_t stage,
                                          double charge, double budget);

void bw_reach_plan_free(struct bw_reach_plan *plan);

#endif
