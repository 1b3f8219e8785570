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

_Static_assert(BW_VERDICT_KEPT == 0 && BW_VERDICT_KEPT < BW_VERDICT_MISSED &&
                   BW_VERDICT_MISSED < BW_VERDICT_NOT_RANKED,
               "verdicts stand in the order of the ranking");

static int group_of(const struct bw_result *result) {
  if (result->status != BW_OK) {
    return BW_VERDICT_NOT_RANKED + 1;
  }
  return (int)result->evaluation.summary.verdict;
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

/* what is weighed against each other, and which way is better */
static const struct {
  enum bw_summary_column column;
  double better; /* +1: more, -1: less */
} AIMS[] = {{BW_SUMMARY_ENERGY_BATTERY, 1.0},
            {BW_SUMMARY_DIP_PEAK, -1.0},
            {BW_SUMMARY_AXLE_MARGIN_WORST, 1.0}};

/* `a` at least as good as `b` everywhere and better somewhere */
static bool dominates(const struct bw_result *a, const struct bw_result *b) {
  bool is_better = false;
  for (size_t i = 0; i < sizeof AIMS / sizeof AIMS[0]; i++) {
    const double ahead =
        AIMS[i].better * (bw_result_value(a, AIMS[i].column) - bw_result_value(b, AIMS[i].column));
    if (ahead < 0.0) {
      return false;
    }
    is_better = is_better || ahead > 0.0;
  }
  return is_better;
}

bool bw_results_is_undominated(const struct bw_results *results, size_t index) {
  const struct bw_result *own = &results->result[index];
  if (group_of(own) != BW_VERDICT_KEPT) {
    return false;
  }
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *other = &results->result[i];
    if (group_of(other) == BW_VERDICT_KEPT && dominates(other, own)) {
      return false;
    }
  }
  return true;
}

double bw_results_undominated(const struct bw_results *results, size_t index) {
  if (results->result[index].status != BW_OK) {
    return (double)NAN;
  }
  return bw_results_is_undominated(results, index) ? 1.0 : 0.0;
}
