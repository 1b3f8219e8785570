/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The built-in strategy `series`, the very same code, as a loaded controller. */
#include "../../strategies/series.c" /* NOLINT: its functions are static */

const struct bw_blend_strategy bw_blend_export = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "twin",
    .summary = "the code of series, loaded",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
