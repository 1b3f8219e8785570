/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* friction-only: the baseline. The machines never brake.
 *
 * Idea: the conventional car. One pedal, one pressure, and the brakes' own sizes fix how the
 * torque T = pedal + overrun divides between the axles:
 *
 *     T_front = T g_front / (g_front + g_rear),    T_rear = T - T_front,
 *
 * g the friction torque per pressure of an axle. The flag tells the evaluator that releasing the
 * accelerator retards by nothing either. When an axle is at its greatest pressure the other one
 * takes the rest if the layout lets it.
 *
 * Purpose: what every blend is compared with (energy recovered: none), and the check that feel
 * figures read zero where there is no hand-over.
 * Source: fixed brake force distribution, any brake textbook; from memory.
 * Parameters: none. State: the front share, which never changes during a run. */

struct memory {
  double front_share; /* of the friction torque */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  (void)params;
  struct memory *memory = state;
  memory->front_share = blend_fixed_share(info);
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  const struct memory *memory = state;
  request->machine[BW_FRONT] = 0.0;
  request->machine[BW_REAR] = 0.0;
  blend_friction_fixed(info, memory->front_share, blend_demand(input), request);
}

const struct bw_blend_strategy BW_STRATEGY_FRICTION_ONLY = {
    .abi = BW_BLEND_ABI,
    .flags = BW_BLEND_WITHOUT_MACHINE,
    .name = "friction-only",
    .summary = "friction brakes alone in their fixed proportion; the baseline",
    .params = NULL,
    .param_count = 0,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
