/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The built-in strategy `least-loss`, the very same code, as a loaded controller, which refuses to
 * start where it is told no loss map. */
#include "../../strategies/least_loss.c" /* NOLINT: its functions are static */

#include <stdlib.h>

static void start_with_map(void *state, const struct bw_blend_info *info, const double *params) {
  if (info->machine_loss_map[BW_FRONT].speeds + info->machine_loss_map[BW_REAR].speeds == 0) {
    abort();
  }
  start(state, info, params);
}

const struct bw_blend_strategy bw_blend_export = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "mapped",
    .summary = "the code of least-loss, loaded, with a loss map or not at all",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start_with_map,
    .step = step,
};
