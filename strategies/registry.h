/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REGISTRY_H
#define BW_REGISTRY_H

#include "blend.h"

/** The strategies that are compiled in, in the order in which `--strategy all` runs them. */

/** Number of built-in strategies. */
size_t bw_strategy_count(void);

/** Strategy `index`, 0 .. count - 1; NULL beyond. */
const struct bw_blend_strategy *bw_strategy_at(size_t index);

/** Strategy called `name`, NULL if there is none. */
const struct bw_blend_strategy *bw_strategy_find(const char *name);

#endif
