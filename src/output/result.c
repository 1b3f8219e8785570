/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/result.h"

#include <math.h>

const char *bw_result_verdict(const struct bw_result *result) {
  return result->status == BW_OK ? bw_verdict_text(result->evaluation.summary.verdict) : "failed";
}

const char *bw_result_reason(const struct bw_result *result) {
  return result->status == BW_OK ? result->evaluation.summary.reason : result->failure;
}

const char *bw_result_rule(const struct bw_result *result) {
  return result->status == BW_OK ? result->evaluation.summary.balance_rule : "";
}

double bw_result_value(const struct bw_result *result, enum bw_summary_column column) {
  return result->status == BW_OK ? result->evaluation.summary.value[column] : (double)NAN;
}

static int group_of(const struct bw_result *result) {
  if (result->status != BW_OK) {
    return 2;
  }
  return result->evaluation.summary.verdict == BW_VERDICT_NOT_RANKED ? 1 : 0;
}

/* true when `a` stands strictly before `b` */
static bool is_before(const struct bw_result *a, const struct bw_result *b) {
  if (group_of(a) != group_of(b)) {
    return group_of(a) < group_of(b);
  }
  const double energy_a = bw_result_value(a, BW_SUMMARY_ENERGY_BATTERY);
  const double energy_b = bw_result_value(b, BW_SUMMARY_ENERGY_BATTERY);
  if (isnan(energy_a) || isnan(energy_b)) {
    return !isnan(energy_a) && isnan(energy_b);
  }
  return energy_a > energy_b;
}

void bw_results_order(const struct bw_results *results, size_t *order) {
  for (size_t i = 0; i < results->count; i++) {
    size_t place = i;
    while (place > 0 && is_before(&results->result[i], &results->result[order[place - 1]])) {
      order[place] = order[place - 1];
      place--;
    }
    order[place] = i;
  }
}
