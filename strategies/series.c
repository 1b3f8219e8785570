/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* series: the machines first, friction fills up.
 *
 * Idea: as long as the machines can give the whole demand D = pedal + overrun, friction stays
 * away. With the fade factor f(v) in 0..1, the torque available now A, the greatest share s and
 * the request of the last period M':
 *
 *     M = min(A, f s D, M' + rise x period),   given to the machines in proportion to what each
 *                                              can do
 *     F = D - M,                               given to the friction brakes in fixed proportion
 *
 * The requests sum to the demand at every moment; that they are not delivered at the same moment
 * (friction is slower) is what the hand-over figures show. The rise limit slows the machine's
 * entry only: its fall must follow the falling limit at once. With a coupled pedal M is also kept
 * below what the pedal's floor leaves.
 *
 * Axle balance is not looked after: a strong machine on one axle brakes that axle alone.
 * Source: 'series' braking for the highest recovery of SAE 2008-01-1561 (abstract read); the
 * equations are ours. Fade band and rise limit: common practice, from memory.
 *
 * Parameters: the table below. State: the last machine request and prepared constants. */

enum { FADE_START_KMH, FADE_END_KMH, RISE_NM_PER_S, SHARE_MAX_PERCENT, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_start_kmh", 0.0, 60.0, 12.0, "falling through this speed the machines begin to fade"},
    {"fade_end_kmh", 0.0, 60.0, 7.0, "below this speed the machines give nothing"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of the machines' request, both at the axle"},
    {"share_max_percent", 0.0, 100.0, 100.0, "greatest share of the demand given to the machines"},
};

struct memory {
  double last;        /* N m, M' */
  double rise;        /* N m per period */
  double front_share; /* of the friction torque */
  double share_max;   /* s */
  double fade_start;  /* m/s */
  double fade_end;    /* m/s */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->last = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->front_share = blend_fixed_share(info);
  memory->share_max = params[SHARE_MAX_PERCENT] / 100.0;
  memory->fade_start = params[FADE_START_KMH] / 3.6;
  memory->fade_end = params[FADE_END_KMH] / 3.6;
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double fade = blend_fade(input->speed, memory->fade_start, memory->fade_end);
  double wanted = blend_smaller(fade * memory->share_max * demand, blend_machine_room(info, input));
  wanted = blend_rise_limit(wanted, memory->last, memory->rise);
  memory->last = blend_split_machines(input, wanted, request);
  blend_friction_fixed(info, memory->front_share, demand - memory->last, request);
}

const struct bw_blend_strategy BW_STRATEGY_SERIES = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "series",
    .summary = "machines first as far as they can, friction fills in fixed proportion",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
