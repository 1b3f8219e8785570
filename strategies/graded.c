/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* graded: the machines' share falls in grades with the braking asked for.
 *
 * Idea: light braking by the machines alone, middle braking by both side by side, hard braking by
 * friction alone. With the deceleration a = D / (r m) that the demand D stands for, the share is
 *
 *     a <= light                  1
 *     light + ramp .. hard        s
 *     a >= hard + ramp            0,          straight between
 *
 *     M = min(A, f(v) share D, M' + rise x period),   F = D - M in fixed proportion
 *
 * M' the last request, f(v) the fade over speed, A the torque available, which the machines give in
 * proportion to what each can do. With a coupled pedal M is also kept below what its floor leaves.
 * Grades that cross are taken in the order light, hard: past `hard` friction wins.
 *
 * The point of it: a hard stop never depends on a machine. The price is that the torque of the
 * machines falls while the demand rises through a ramp, an exchange that the narrow ramp makes
 * felt.
 * Source: measured grades of a production hybrid in EuroBrake 2012 EB2012-TM-06 (read): light stops
 * by regeneration only, emergency stops by friction only, between them both. Values are ours.
 *
 * Parameters: the table below. State: the last machine request and prepared constants. */

enum {
  LIGHT_MPS2,
  HARD_MPS2,
  RAMP_MPS2,
  MIDDLE_SHARE_PERCENT,
  FADE_START_KMH,
  FADE_END_KMH,
  RISE_NM_PER_S,
  PARAM_COUNT
};

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"light_mps2", 0.0, 10.0, 1.5, "up to this demanded deceleration the machines brake alone"},
    {"hard_mps2", 0.0, 15.0, 5.0, "from here the machines give way to friction"},
    {"ramp_mps2", 0.01, 5.0, 1.0, "demanded deceleration over which one grade becomes the next"},
    {"middle_share_percent", 0.0, 100.0, 60.0, "share of the machines between light and hard"},
    {"fade_start_kmh", 0.0, 60.0, 12.0, "falling through this speed the machines begin to fade"},
    {"fade_end_kmh", 0.0, 60.0, 7.0, "below this speed the machines give nothing"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of the machines' request, both at the axle"},
};

struct memory {
  double last;        /* N m, M' */
  double rise;        /* N m per period */
  double front_share; /* of the friction torque */
  double light;       /* N m */
  double hard;        /* N m */
  double per_ramp;    /* 1/(N m) */
  double middle;      /* s */
  double fade_start;  /* m/s */
  double fade_end;    /* m/s */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  const double to_torque = info->mass * info->tyre_radius;
  memory->last = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->front_share = blend_fixed_share(info);
  memory->light = params[LIGHT_MPS2] * to_torque;
  memory->hard = params[HARD_MPS2] * to_torque;
  memory->per_ramp = 1.0 / (params[RAMP_MPS2] * to_torque);
  memory->middle = params[MIDDLE_SHARE_PERCENT] / 100.0;
  memory->fade_start = params[FADE_START_KMH] / 3.6;
  memory->fade_end = params[FADE_END_KMH] / 3.6;
}

static double graded_share(const struct memory *memory, double demand) {
  const double past_light = blend_clip((demand - memory->light) * memory->per_ramp, 0.0, 1.0);
  const double past_hard = blend_clip((demand - memory->hard) * memory->per_ramp, 0.0, 1.0);
  const double light_to_middle = 1.0 - (1.0 - memory->middle) * past_light;
  return light_to_middle * (1.0 - past_hard);
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double fade = blend_fade(input->speed, memory->fade_start, memory->fade_end);
  const double part = fade * graded_share(memory, demand) * demand;
  double wanted = blend_smaller(part, blend_machine_room(info, input));
  wanted = blend_rise_limit(wanted, memory->last, memory->rise);
  memory->last = blend_split_machines(input, wanted, request);
  blend_friction_fixed(info, memory->front_share, demand - memory->last, request);
}

const struct bw_blend_strategy BW_STRATEGY_GRADED = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "graded",
    .summary = "light braking by the machines, middle by both, hard by friction",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
