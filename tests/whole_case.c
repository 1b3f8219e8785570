/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "whole_case.h"

#include "check.h"
#include "strategies/registry.h"

struct bw_case *load_case(const char *path, const struct bw_override *set, size_t count) {
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  if (bw_case_load(path, "cases", set, count, &loaded, &diag) != BW_OK) {
    fail_msg("%s refused: %s", path, diag.line[0]);
  }
  return loaded;
}

struct bw_evaluation evaluate_case(const struct bw_case *loaded,
                                   const struct bw_blend_strategy *strategy) {
  struct bw_evaluation evaluation;
  struct bw_diag diag = {0};
  if (bw_evaluate(loaded, strategy, NULL, &evaluation, &diag) != BW_OK) {
    fail_msg("%s: %s", strategy->name, diag.line[0]);
  }
  return evaluation;
}

struct bw_summary summary_of_file(const char *path, const struct bw_override *set, size_t count,
                                  const char *strategy) {
  struct bw_case *loaded = load_case(path, set, count);
  struct bw_evaluation evaluation = evaluate_case(loaded, bw_strategy_find(strategy));
  const struct bw_summary summary = evaluation.summary;
  bw_evaluation_free(&evaluation);
  bw_case_destroy(loaded);
  return summary;
}

void check_ceiling_cases(void (*check)(const struct bw_case *loaded,
                                       const struct bw_blend_strategy *strategy)) {
  static const char *const PATH[] = {"cases/stop-100.cfg", "cases/crossover-us06.cfg",
                                     "cases/van-nycc.cfg"};
  static const struct bw_override SET[] = {
      {"assess.ceiling=true"}, {"battery.soc_percent=96"}, {"battery.temperature_c=-5"}};
  for (size_t k = 0; k < sizeof PATH / sizeof PATH[0]; k++) {
    for (int cold = 0; cold < 2; cold++) {
      struct bw_case *loaded = load_case(PATH[k], SET, cold != 0 ? 3 : 1);
      for (size_t s = 0; s < bw_strategy_count(); s++) {
        check(loaded, bw_strategy_at(s));
      }
      bw_case_destroy(loaded);
    }
  }
}
