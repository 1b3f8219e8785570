/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "registry.h"

#include "builtin.h"

#include <string.h>

static const struct bw_blend_strategy *const STRATEGIES[] = {
    &BW_STRATEGY_FRICTION_ONLY, &BW_STRATEGY_PARALLEL,
    &BW_STRATEGY_SERIES,        &BW_STRATEGY_IDEAL_DISTRIBUTION,
    &BW_STRATEGY_RULE_BOUNDARY, &BW_STRATEGY_SHARE_TABLE,
    &BW_STRATEGY_GRADED,        &BW_STRATEGY_LAG_COMPENSATED,
    &BW_STRATEGY_SPEED_BAND,    &BW_STRATEGY_GRIP_CAP,
    &BW_STRATEGY_LEAST_LOSS,    &BW_STRATEGY_PREDICTIVE,
};

size_t bw_strategy_count(void) {
  return sizeof STRATEGIES / sizeof STRATEGIES[0];
}

const struct bw_blend_strategy *bw_strategy_at(size_t index) {
  return index < bw_strategy_count() ? STRATEGIES[index] : NULL;
}

const struct bw_blend_strategy *bw_strategy_find(const char *name) {
  for (size_t i = 0; i < bw_strategy_count(); i++) {
    if (strcmp(STRATEGIES[i]->name, name) == 0) {
      return STRATEGIES[i];
    }
  }
  return NULL;
}
