/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RESULT_H
#define BW_RESULT_H

#include "assess/comfort.h"
#include "assess/evaluate.h"

/** Results of several strategies on one case, as the writers of this folder take them. */

/** One strategy's outcome: an evaluation, or why there is none. */
struct bw_result {
  const struct bw_blend_strategy *strategy;
  enum bw_status status;        /**< BW_OK: `evaluation` holds; else it is zeroed */
  char failure[BW_DIAG_LENGTH]; /**< message, empty when status is BW_OK */
  struct bw_evaluation evaluation;
  const struct bw_comfort *comfort; /**< NULL: not asked for; borrowed */
};

/** A comparison, in the order the strategies ran. Borrows everything. */
struct bw_results {
  const struct bw_case *loaded;
  size_t count;
  const struct bw_result *result; /**< (count) */
};

/** 'kept', 'missed', 'not ranked' or, without an evaluation, 'failed'. */
const char *bw_result_verdict(const struct bw_result *result);

/** Why the verdict is not 'kept'; empty otherwise. */
const char *bw_result_reason(const struct bw_result *result);

/** Name of the balance rule used, empty without an evaluation. */
const char *bw_result_rule(const struct bw_result *result);

/** A summary value in its column's unit; NaN when not applicable or without an evaluation. */
double bw_result_value(const struct bw_result *result, enum bw_summary_column column);

/** Fill order[count] with indices sorted for people: those that keep every limit by energy into
 *  the battery, then those that missed one by the same, then not ranked, then failed; equal rows
 *  stay in the order they ran. */
void bw_results_order(const struct bw_results *results, size_t *order);

/** True when strategy `index` keeps every limit and no other one that does is at least as good in
 *  energy into the battery, greatest dip and worst balance margin, and better in one of them. A
 *  figure that does not apply to both is left out of their comparison. */
bool bw_results_is_undominated(const struct bw_results *results, size_t index);

/** The same as a figure: 1, 0, NaN without an evaluation. */
double bw_results_undominated(const struct bw_results *results, size_t index);

#endif
