/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* grip-cap: machines first, but never more than the road is believed to hold.
 *
 * Idea: a machine brakes one axle, and an axle that is asked for more than its grip locks. With the
 * adhesion believed mu, the load N_i estimated from the measured deceleration (load transfer
 * included) and a margin, the machine of an axle may take
 *
 *     C_i = r max(0, mu - margin) N_i g(s_i),   M_i <= min(A_i, C_i)
 *
 * r tyre radius, A_i the torque available. g falls from 1 to 0 while the measured slip s_i rises
 * from slip_start to slip_end: when the belief was too good the wheel says so. After such a cut
 * the cap recovers at the rise limit only, so that it does not hunt. Machines share f(v) D in
 * proportion to what they may; friction brings both axles towards equal use of grip:
 *
 *     M_f + M_r <= f(v) D,   F = D - M_f - M_r, front total as near to the ideal share as M admits
 *
 * Source: motor reduced with rising slip, families of Pretagostini et al., IEEE Access 8 (2020)
 * 10951 (read in parts); greatest braking by one axle mu b / (L - mu h), closed form, derived,
 * BAL-6. The cap law is ours.
 *
 * Parameters: the table below. State: the last caps and prepared constants. */

enum {
  ADHESION_PERCENT,
  MARGIN_PERCENT,
  SLIP_START_PERCENT,
  SLIP_END_PERCENT,
  FADE_START_KMH,
  FADE_END_KMH,
  RISE_NM_PER_S,
  PARAM_COUNT
};

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"adhesion_percent", 1.0, 150.0, 60.0, "adhesion believed; 100 % holds the axle's own load"},
    {"margin_percent", 0.0, 50.0, 10.0, "part of the adhesion kept for steering, in adhesion"},
    {"slip_start_percent", 0.1, 50.0, 5.0, "brake slip from which a machine is taken back"},
    {"slip_end_percent", 0.1, 60.0, 10.0, "brake slip at which it gives nothing"},
    {"fade_start_kmh", 0.0, 60.0, 12.0, "falling through this speed the machines begin to fade"},
    {"fade_end_kmh", 0.0, 60.0, 6.0, "below this speed the machines give nothing"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of each machine's request, at the axle"},
};

struct memory {
  double last[BW_AXLES]; /* N m, requests of the last period */
  double rise;           /* N m per period */
  double grip;           /* m, torque per load: r max(0, mu - margin) */
  double slip_start;
  double slip_end;
  double fade_start; /* m/s */
  double fade_end;   /* m/s */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->last[BW_FRONT] = 0.0;
  memory->last[BW_REAR] = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->grip = info->tyre_radius * 0.01 *
                 blend_not_negative(params[ADHESION_PERCENT] - params[MARGIN_PERCENT]);
  memory->slip_start = params[SLIP_START_PERCENT] / 100.0;
  memory->slip_end = params[SLIP_END_PERCENT] / 100.0;
  memory->fade_start = params[FADE_START_KMH] / 3.6;
  memory->fade_end = params[FADE_END_KMH] / 3.6;
}

/* most torque of one machine now */
static double capped(const struct memory *memory, const struct bw_blend_input *input, int axle) {
  /* the fade turned round: 1 up to slip_start, 0 from slip_end on */
  const double held = blend_fade(-input->slip[axle], -memory->slip_start, -memory->slip_end);
  const double cap = memory->grip * blend_not_negative(input->axle_load[axle]) * held;
  const double able = blend_smaller(blend_not_negative(input->machine_available[axle]), cap);
  return blend_rise_limit(able, memory->last[axle], memory->rise);
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double fade = blend_fade(input->speed, memory->fade_start, memory->fade_end);
  const double front = capped(memory, input, BW_FRONT);
  const double rear = capped(memory, input, BW_REAR);
  const double room = blend_smaller(fade * demand, blend_machine_room(info, input));
  const double kept = front + rear > room ? room / (front + rear) : 1.0;
  request->machine[BW_FRONT] = kept * front;
  request->machine[BW_REAR] = kept * rear;
  memory->last[BW_FRONT] = request->machine[BW_FRONT];
  memory->last[BW_REAR] = request->machine[BW_REAR];
  const double ideal = blend_ideal_share(info, blend_braking_rate(info, demand));
  const struct blend_share share = {.low = 0.0, .high = 1.0, .ideal = ideal};
  blend_fill_axles(info, demand, &share, request);
}

const struct bw_blend_strategy BW_STRATEGY_GRIP_CAP = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "grip-cap",
    .summary = "machines first within the grip believed and the slip measured on their axle",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
