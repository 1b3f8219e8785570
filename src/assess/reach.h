/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REACH_H
#define BW_REACH_H

#include "assess/bound.h"

#include <stdint.h>

/** What an optimal blend that knows the future reaches: the lower end of the bracket whose upper
 *  end is the proven ceiling.
 *
 *  The run's braking and driving are written down, and braked again by another blend, forward
 *  through the models of battery, machine heat and limits, each at the state that this blend has
 *  brought it to; what the forward run sends to the terminals is the figure. So it can be reached,
 *  whether or not the plan behind it is the best one. The better of two plans counts:
 *
 *    at once   all that machines and battery take at every moment
 *    planned   dynamic programming over charge and pulse budget (reach_plan.h), which holds
 *              back where charge or budget are worth more later; left out when the battery
 *              never held the first plan back: nothing can then be gained by waiting
 *
 *  Admissible in both: torques as in bound.h, derated as hot as this blend makes the machines,
 *  charge and pulse limits of its own battery, no more than a coupled pedal leaves; the rule's
 *  variant keeps each axle within bw_bound_rule_caps(), with one pressure for both axles within
 *  what the fixed proportion leaves of it. Tyre slip is that of the machine's own torque. Taken
 *  as in the run: the driving, the braking delivered and the driving torque that still decays
 *  when it starts. Not counted: lag and slew, which a blend that knows the future commands ahead
 *  of. Not given for a run with a fault, or with wheels of their own. */

/** A braking period: what a machine of each axle may do in it. */
struct bw_reach_moment {
  double speed;        /**< m/s */
  double torque;       /**< N m, does the delivered work at the road */
  double room;         /**< N m of it that a coupled pedal leaves to machines */
  double limit[2];     /**< N m at the axle, as hot as the run was */
  double rule[2];      /**< N m, most inside the balance rule and the grip */
  double omega[2];     /**< rad/s at the shaft, as in the run */
  double slip[2];      /**< slip per N m */
  bool was_derated[2]; /**< `limit` is that of a hot machine */
};

/** A period of any kind; seven digits of a power are plenty, and there are many periods. */
struct bw_reach_period {
  float power;   /**< W at the terminals when driving; drawn by driving torque when braking */
  float loss[2]; /**< W, of the machines when driving */
  bool is_braking;
};

struct bw_reach {
  const struct bw_judge *judge;
  const struct bw_bound *bound;
  double duration; /**< s of every period but the last */
  double last_duration;
  size_t count;
  size_t capacity;
  struct bw_reach_period *periods; /**< (count) */
  size_t braking_count;
  size_t braking_capacity;
  struct bw_reach_moment *moments; /**< (braking_count) */
};

/** How finely is planned. */
struct bw_reach_grid {
  size_t charges; /**< >= 2 */
  size_t budgets; /**< >= 2, used when pulse and continuous current differ */
  size_t levels;  /**< of the current in one stage, >= 2 */
  double stage;   /**< s, longest stage of braking */
};

extern const struct bw_reach_grid BW_REACH_GRID;

/** Borrows both, which must stay where they are. Free with bw_reach_free(). */
struct bw_reach bw_reach_start(const struct bw_judge *judge, const struct bw_bound *bound);

/** To be called for every period. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_reach_watch(struct bw_reach *reach, const struct bw_sample *sample,
                                            const struct bw_period *period, struct bw_diag *diag);

/** Energy reached (J into the terminals while braking), plant's limits or with the rule; NaN when
 *  neither plan could be followed. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_reach_find(const struct bw_reach *reach, bool has_rule,
                                           const struct bw_reach_grid *grid, double *energy,
                                           struct bw_diag *diag);

/** Fill the columns; NaN where the case does not ask for bounds or they do not apply. */
BW_MUST_CHECK enum bw_status bw_reach_finish(const struct bw_reach *reach,
                                             struct bw_summary *summary, struct bw_diag *diag);

void bw_reach_free(struct bw_reach *reach);

#endif
