/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_BALANCE_H
#define BW_ASSESS_BALANCE_H

#include "batch/balance_survey.h"

/** Axle balance against published rules, per strategy, load and charge; failures only for a car
 *  without antilock brakes (assess.antilock) and under the case's own rule, information else.
 *  And the largest safe regeneration on accelerator release, per driven axle and surface. */

/** Curves of one strategy, kept for balance.csv. */
struct bw_assess_curves {
  const struct bw_blend_strategy *strategy;
  double slope; /**< c of the case's rule */
  struct bw_balance_survey survey;
};

extern const struct bw_assess_family BW_ASSESS_BALANCE;
extern const struct bw_assess_family BW_ASSESS_LIFT_OFF;

#endif
