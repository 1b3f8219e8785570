/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* lag-compensated: friction is called before it is needed, the machines give what is missing.
 *
 * Idea: the hand-over is a plan over speed, f(v) falling from 1 to 0, so it can be foreseen. With
 * the measured deceleration a the speed in a time t is v - a t. The friction torque planned is
 * G(v) = D - min(A, f(v) D), D the demand, A the machines' torque available. A path with dead time
 * theta and lag tau gives exactly the plan when it is asked for
 *
 *     u(t) = G(t + theta) + tau G'(t + theta)
 *
 * taken here as the mean over the coming period T, [G(t + theta) + G(t + theta + T)] / 2 +
 * tau [G(t + theta + T) - G(t + theta)] / T. The machines' plan f(v) D is led by their own, small,
 * dead time and lag in the same way. On top, the machines correct what friction lacks:
 *
 *     M = min(A, led plan + c (G(t) - G_measured))
 *
 * as long as they have authority: torque to spare, speed above their own low limit. That is why
 * the band must end above that limit: the exchange starts early enough, the prediction moves it
 * ahead by the friction's dead time, and what is wrong in the belief can still be mended.
 * With c = 0 and a wrong belief (tau_b, theta_b) the area of the deficit is
 * Delta (tau + theta - tau_b - theta_b). At rest in the plan the requests sum to the demand.
 *
 * Source: machine as compensator with early switch, Energies 13 (2020) 2031 and Int. J. Energy
 * Res. 2023, 1868528 (abstracts read); lead and error area: closed forms, derived, HO-5 and HO-6.
 *
 * Parameters: the table below. State: the last machine request and prepared constants. */

enum {
  FADE_START_KMH,
  FADE_END_KMH,
  DEAD_TIME_MS,
  LAG_MS,
  CORRECTION_PERCENT,
  RISE_NM_PER_S,
  PARAM_COUNT
};

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_start_kmh", 0.0, 60.0, 9.0, "falling through this speed the exchange begins"},
    {"fade_end_kmh", 0.0, 60.0, 5.0, "at this speed it is done; above the machine's own limit"},
    {"dead_time_ms", -1.0, 500.0, -1.0, "dead time believed of the friction path; -1: the car's"},
    {"lag_ms", -1.0, 1000.0, -1.0, "lag believed of the friction path; -1: the car's"},
    {"correction_percent", 0.0, 100.0, 100.0,
     "share of the missing friction torque that the machines make up"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of the machines' request, both at the axle"},
};

struct memory {
  double last;            /* N m */
  double rise;            /* N m per period */
  double front_share;     /* of the friction torque */
  double correction;      /* c */
  double fade_start;      /* m/s */
  double fade_end;        /* m/s */
  struct blend_path path; /* friction as believed */
  struct blend_path machine;
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->last = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->front_share = blend_fixed_share(info);
  memory->correction = params[CORRECTION_PERCENT] / 100.0;
  memory->fade_start = params[FADE_START_KMH] / 3.6;
  memory->fade_end = params[FADE_END_KMH] / 3.6;
  memory->path = blend_friction_path(info);
  if (params[DEAD_TIME_MS] >= 0.0) {
    memory->path.dead_time = params[DEAD_TIME_MS] / 1e3;
  }
  if (params[LAG_MS] >= 0.0) {
    memory->path.lag = params[LAG_MS] / 1e3;
  }
  /* two machines: the stronger one speaks for both */
  const int axle = info->machine_torque_peak[BW_REAR] > info->machine_torque_peak[BW_FRONT];
  memory->machine.dead_time = info->machine_dead_time[axle];
  memory->machine.lag = info->machine_lag[axle];
}

/* machines' torque planned for the speed in `ahead` seconds */
static double planned(const struct memory *memory, const struct bw_blend_input *input, double most,
                      double ahead) {
  const double speed = input->speed - ahead * blend_not_negative(input->deceleration);
  const double demand = blend_demand(input);
  return blend_smaller(most, demand * blend_fade(speed, memory->fade_start, memory->fade_end));
}

/* what to ask of `path` so that it gives the machines' plan in its mean over the coming period */
static double led(const struct memory *memory, const struct bw_blend_input *input, double most,
                  const struct blend_path *path, double period) {
  const double now = planned(memory, input, most, path->dead_time);
  const double next = planned(memory, input, most, path->dead_time + period);
  return 0.5 * (now + next) + path->lag * (next - now) / period;
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double able = blend_not_negative(input->machine_available[BW_FRONT]) +
                      blend_not_negative(input->machine_available[BW_REAR]);
  double most = blend_smaller(able, blend_machine_room(info, input));
  most = blend_rise_limit(most, memory->last, memory->rise);
  const double friction =
      blend_not_negative(demand - led(memory, input, most, &memory->path, info->period));
  const double measured = input->friction_estimate[BW_FRONT] + input->friction_estimate[BW_REAR];
  const double missing = demand - planned(memory, input, most, 0.0) - measured;
  const double wanted =
      led(memory, input, most, &memory->machine, info->period) + memory->correction * missing;
  memory->last = blend_split_machines(input, blend_clip(wanted, 0.0, most), request);
  blend_friction_fixed(info, memory->front_share, friction, request);
}

const struct bw_blend_strategy BW_STRATEGY_LAG_COMPENSATED = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "lag-compensated",
    .summary = "friction led by its dead time and lag, the machines give what is missing",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
