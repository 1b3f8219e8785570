/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* ideal-distribution: both axles use the same grip, the machine first on its own axle.
 *
 * Idea: the total divides along the ideal parabola, where each axle's brake force is z times its
 * load. With the demand D = pedal + overrun, tyre radius r, mass m, wheelbase L, distance b of the
 * centre of gravity from the rear axle and its height h, on the level:
 *
 *     z = D / (r m g),    N_front = m g (b + h z) / L
 *     T_front = D (b + h z) / L,    T_rear = D - T_front
 *
 * On each axle the machine takes its part first and friction fills up:
 *
 *     M_i = min(A_i, f(v) T_i, M_i' + rise x period),    F_i = T_i - M_i
 *
 * A_i the torque available on that axle now, f(v) the fade factor, M_i' the last request. So both
 * axles reach the limit of grip together (T_i / (r N_i) = z on both) while the machine recovers
 * no more than its axle's part. Beyond z = a / h, where the rear would lift, all goes to the front.
 * Where one pressure serves both axles the friction cannot follow the parabola: the machines still
 * take up to their axle's part and friction comes in fixed proportion; with a coupled pedal they
 * are also kept below what the pedal's floor leaves.
 *
 * Source: 'series braking with best feel' of SAE 2008-01-1561 (abstract read), SAE 1999-01-2910
 * (from memory, not read); the parabola is statics, derived.
 *
 * Parameters: the table below. State: the last machine requests and prepared constants. */

enum { FADE_START_KMH, FADE_END_KMH, RISE_NM_PER_S, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_start_kmh", 0.0, 60.0, 12.0, "falling through this speed the machines begin to fade"},
    {"fade_end_kmh", 0.0, 60.0, 7.0, "below this speed the machines give nothing"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of each machine's request, at the axle"},
};

struct memory {
  double last[BW_AXLES]; /* N m, M_i' */
  double rise;           /* N m per period */
  double front_share;    /* of the friction torque in a common layout */
  double share_static;   /* b / L: front share of a very gentle stop */
  double share_slope;    /* h / (L r m g), 1/(N m): what the demand adds to it */
  double fade_start;     /* m/s */
  double fade_end;       /* m/s */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->last[BW_FRONT] = 0.0;
  memory->last[BW_REAR] = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->front_share = blend_fixed_share(info);
  memory->share_static = (info->wheelbase - info->cg_to_front) / info->wheelbase;
  memory->share_slope =
      info->cg_height / (info->wheelbase * info->tyre_radius * info->mass * BLEND_GRAVITY);
  memory->fade_start = params[FADE_START_KMH] / 3.6;
  memory->fade_end = params[FADE_END_KMH] / 3.6;
}

/* machine request of one axle for its part of the demand */
static double machine_part(const struct memory *memory, const struct bw_blend_input *input,
                           int axle, double part) {
  const double wanted = blend_rise_limit(part, memory->last[axle], memory->rise);
  return blend_smaller(wanted, blend_not_negative(input->machine_available[axle]));
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double share = blend_smaller(memory->share_static + memory->share_slope * demand, 1.0);
  const double front = share * demand;
  const double rear = demand - front;
  const double fade = blend_fade(input->speed, memory->fade_start, memory->fade_end);
  double machine_front = machine_part(memory, input, BW_FRONT, fade * front);
  double machine_rear = machine_part(memory, input, BW_REAR, fade * rear);
  const double room = blend_machine_room(info, input);
  if (machine_front + machine_rear > room) {
    const double kept = room / (machine_front + machine_rear);
    machine_front *= kept;
    machine_rear *= kept;
  }
  memory->last[BW_FRONT] = machine_front;
  memory->last[BW_REAR] = machine_rear;
  request->machine[BW_FRONT] = machine_front;
  request->machine[BW_REAR] = machine_rear;
  if (info->layout == BW_LAYOUT_PER_AXLE) {
    blend_friction_free(info, front - machine_front, rear - machine_rear, request);
  } else {
    const double rest = blend_not_negative(demand - machine_front - machine_rear);
    blend_friction_fixed(info, memory->front_share, rest, request);
  }
}

const struct bw_blend_strategy BW_STRATEGY_IDEAL_DISTRIBUTION = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "ideal-distribution",
    .summary = "axles share by their load, the machine first on its own axle",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
