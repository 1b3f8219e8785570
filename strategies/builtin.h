/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BUILTIN_H
#define BW_BUILTIN_H

#include "blend.h"

/** The strategies that are compiled in, one file each. */
extern const struct bw_blend_strategy BW_STRATEGY_FRICTION_ONLY;
extern const struct bw_blend_strategy BW_STRATEGY_PARALLEL;
extern const struct bw_blend_strategy BW_STRATEGY_SERIES;
extern const struct bw_blend_strategy BW_STRATEGY_IDEAL_DISTRIBUTION;
extern const struct bw_blend_strategy BW_STRATEGY_RULE_BOUNDARY;
extern const struct bw_blend_strategy BW_STRATEGY_SHARE_TABLE;
extern const struct bw_blend_strategy BW_STRATEGY_GRADED;
extern const struct bw_blend_strategy BW_STRATEGY_LAG_COMPENSATED;
extern const struct bw_blend_strategy BW_STRATEGY_SPEED_BAND;
extern const struct bw_blend_strategy BW_STRATEGY_GRIP_CAP;
extern const struct bw_blend_strategy BW_STRATEGY_LEAST_LOSS;
extern const struct bw_blend_strategy BW_STRATEGY_PREDICTIVE;

#endif
