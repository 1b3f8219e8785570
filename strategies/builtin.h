/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BUILTIN_H
#define BW_BUILTIN_H

#include "blend.h"

/** The strategies that are compiled in, one file each. */
extern const struct bw_blend_strategy BW_STRATEGY_FRICTION_ONLY;
extern const struct bw_blend_strategy BW_STRATEGY_PARALLEL;
extern const struct bw_blend_strategy BW_STRATEGY_SERIES;
extern const struct bw_blend_strategy BW_STRATEGY_IDEAL_DISTRIBUTION;

#endif
