/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* parallel: machine and friction act side by side at a fixed ratio.
 *
 * Idea: the friction brakes keep their own fixed split between the axles, and the machines add a
 * fixed share s of the pedal's demand P on top. Releasing the accelerator (overrun demand V) goes
 * to the machines whole. With the fade factor f(v) in 0..1 and the machines' torque available now
 * A:
 *
 *     M = min(A, f (V + s P)),          given to the machines in proportion to what each can do
 *     F = (1 - s) P + c (V + s P - M),  given to the friction brakes in fixed proportion
 *
 * c = 1: whatever the machines cannot give is made up by friction, requests sum to the demand.
 * c = 0: the plain superposed system; what the machines cannot give is missing, and it is the
 * driver who presses harder. With a coupled pedal M is also kept below what its floor leaves.
 *
 * A fixed share leaves energy on the table in gentle stops (friction works although the machine
 * could take all) and wears the same pads the series blend spares; its hand-overs are smaller.
 * Source: 'parallel' braking of SAE 2008-01-1561 (abstract read) and of the bus systems in WEVJ 2
 * (2008) 363 (abstract read); the equations are ours. Fade band: common practice, from memory.
 *
 * Parameters: the table below. State: constants prepared at the start. */

enum { SHARE_PERCENT, FILL_PERCENT, FADE_START_KMH, FADE_END_KMH, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"machine_share_percent", 0.0, 100.0, 40.0,
     "share of the pedal's demand meant for the machines"},
    {"fill_percent", 0.0, 100.0, 100.0,
     "share of what the machines cannot give made up by friction"},
    {"fade_start_kmh", 0.0, 60.0, 12.0, "falling through this speed the machines begin to fade"},
    {"fade_end_kmh", 0.0, 60.0, 7.0, "below this speed the machines give nothing"},
};

struct memory {
  double front_share; /* of the friction torque */
  double share;       /* s */
  double fill;        /* c */
  double fade_start;  /* m/s */
  double fade_end;    /* m/s */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->front_share = blend_fixed_share(info);
  memory->share = params[SHARE_PERCENT] / 100.0;
  memory->fill = params[FILL_PERCENT] / 100.0;
  memory->fade_start = params[FADE_START_KMH] / 3.6;
  memory->fade_end = params[FADE_END_KMH] / 3.6;
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  const struct memory *memory = state;
  const double meant = input->demand_overrun + memory->share * input->demand_pedal;
  const double fade = blend_fade(input->speed, memory->fade_start, memory->fade_end);
  const double wanted = blend_smaller(fade * meant, blend_machine_room(info, input));
  const double given = blend_split_machines(input, wanted, request);
  const double friction =
      input->demand_pedal - memory->share * input->demand_pedal + memory->fill * (meant - given);
  blend_friction_fixed(info, memory->front_share, blend_not_negative(friction), request);
}

const struct bw_blend_strategy BW_STRATEGY_PARALLEL = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "parallel",
    .summary = "machines give a fixed share of the pedal's demand, friction the rest",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
