/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WATERFALL_H
#define BW_WATERFALL_H

#include "assess/waterfall_steps.h"

#include "assess/bound.h"

/** Where each joule of the braking delivered went on its way to the cells.
 *
 *  Per braking period W(S) is the most tyre work that machines could have taken inside the set S,
 *  and S only shrinks:
 *    S0  all of the braking delivered
 *    S1  no machine takes more than was braked at its own axle (axle split)
 *    S2  nor more than balance rule and grip leave to its axle (bw_bound_rule_caps())
 *    S3  nor more than its envelope when cool and fast enough
 *    S4  derated as hot as it was
 *    S5  with its low-speed limit
 *    S6  together no more DC power than battery and auxiliaries take. Two machines: the larger
 *        sum of filling the front one first and of filling the rear one first; for a given sum
 *        the power is least at one of these two, because it is concave in each torque (loss maps:
 *        nearly so).
 *  Step j is W(S j-1) - W(S j). Then what the strategy did not ask for within S6, what was
 *  realised outside S6 (negative: taken back from the steps above, for instance by breaking the
 *  balance rule), the lag (asked for within S6 less realised within S6, signed), and the losses
 *  that really happened. Delivered less all steps is the energy into the cells.
 *  Last-in value of S1..S6: W of the last set without this one limit, less W(S6), torque then
 *  still limited by what was delivered; of the other steps: the step itself.
 *  Machine temperature and state of charge are those at the end of the period. Fidelity `slip`:
 *  what an antilock intervention takes from the machines counts as not asked for or as lag. */

/** Torques (N m at the axle) that bound the machines in one period, and how they are told apart. */
struct bw_waterfall_moment {
  double speed;        /**< m/s */
  double torque;       /**< N m, does the delivered work at the road */
  double split[2];     /**< N m delivered at each axle */
  double rule[2];      /**< N m */
  double cool[2];      /**< N m, envelope without heat and low speed */
  double hot[2];       /**< N m, derated */
  double cool_slow[2]; /**< N m, low speed without heat */
  double limit[2];     /**< N m, envelope as it was */
  double power;        /**< W the DC link can take */
};

struct bw_waterfall_keeper {
  const struct bw_judge *judge;
  struct bw_waterfall found; /**< last-in values of the sets only */
};

struct bw_waterfall_keeper bw_waterfall_start(const struct bw_judge *judge);

/** Most torque (N m) of the machines within the sets S1..S6 whose bits (1 << step) are set in
 *  `sets`. */
double bw_waterfall_torque(const struct bw_bound *bound, const struct bw_waterfall_moment *moment,
                           unsigned sets);

/** Add a braking period. `bound` is the run's bound, which has watched this period. */
void bw_waterfall_watch(struct bw_waterfall_keeper *keeper, const struct bw_bound *bound,
                        const struct bw_sample *sample, const struct bw_period *period);

/** What was found, with every last-in value. */
void bw_waterfall_finish(const struct bw_waterfall_keeper *keeper, struct bw_waterfall *found);

#endif
