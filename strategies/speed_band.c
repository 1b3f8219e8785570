/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* speed-band: machines first, and a fade band as wide as the braking needs to stay unfelt.
 *
 * Idea: friction follows a command with dead time theta and lag tau, so an exchange of the torque D
 * within the time T leaves a dip of D (tau + theta) / (T m r). In a stop at deceleration a the fade
 * from the speed v_end + band to v_end takes T = band / a. To keep the dip below a_felt,
 *
 *     band = a_D a (tau + theta) / a_felt,   a_D = D / (m r)
 *
 * which is a^2 (tau + theta) / a_felt when the brakes alone slow the car. Gentle stops so keep the
 * machine almost to the end, firm ones give it back early. The greater of a_D and the
 * measured deceleration stands for a, for a stop that has just begun is not measured yet. As both
 * move the band during a stop, the torque that the machines give back of their own accord is
 * also limited in rate by the same law, R = a_felt m r / (tau + theta):
 *
 *     M = min(A, max(f(v) D, M' - R x period), M' + rise x period),   F = D - M
 *
 * M' the last request, carried along when the demand falls. Below v_end the plan is that the
 * machines give nothing; an exchange that was begun late goes on at that rate all the same.
 *
 * Source: peak law and speed-band rule (closed forms, derived, HO-2 and HO-4). That the machine's
 * own delay makes the dip smaller still is not used.
 *
 * Parameters: the table below. State: last request and demand, prepared constants. */

enum { FADE_END_KMH, BAND_MIN_KMH, BAND_SCALE_PERCENT, FELT_PERCENT, RISE_NM_PER_S, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_end_kmh", 0.0, 60.0, 4.5, "low end of the band, where the exchange shall be done"},
    {"band_min_kmh", 0.1, 30.0, 2.0, "narrowest band"},
    {"band_scale_percent", 10.0, 1000.0, 100.0, "width of the band over that of the rule"},
    {"felt_percent", 5.0, 200.0, 65.0,
     "dip aimed at, over the felt line; the rest is for pads that bite less"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of the machines' request, both at the axle"},
};

struct memory {
  double last;        /* N m, M' */
  double last_demand; /* N m */
  double inertia;     /* kg m, m r */
  double rise;        /* N m per period */
  double fall;        /* N m per period */
  double front_share; /* of the friction torque */
  double end;         /* m/s */
  double band_min;    /* m/s */
  double band;        /* m/s per (N m m/s2): band over D a */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  const double dip = info->felt_deceleration * params[FELT_PERCENT] / 100.0;
  const double rate = blend_exchange_rate(info, dip);
  memory->last = 0.0;
  memory->last_demand = 0.0;
  memory->inertia = info->mass * info->tyre_radius;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->fall = rate * info->period;
  memory->front_share = blend_fixed_share(info);
  memory->end = params[FADE_END_KMH] / 3.6;
  memory->band_min = params[BAND_MIN_KMH] / 3.6;
  memory->band = params[BAND_SCALE_PERCENT] / 100.0 / rate;
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double slowing = blend_larger(input->deceleration, demand / memory->inertia);
  const double band = blend_larger(memory->band_min, memory->band * demand * slowing);
  const double faded = blend_fade(input->speed, memory->end + band, memory->end) * demand;
  const double carried =
      demand < memory->last_demand ? memory->last * (demand / memory->last_demand) : memory->last;
  const double late = blend_larger(faded, carried - memory->fall);
  double wanted = blend_smaller(late, blend_machine_room(info, input));
  wanted = blend_rise_limit(wanted, memory->last, memory->rise);
  memory->last = blend_split_machines(input, wanted, request);
  memory->last_demand = demand;
  blend_friction_fixed(info, memory->front_share, demand - memory->last, request);
}

const struct bw_blend_strategy BW_STRATEGY_SPEED_BAND = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "speed-band",
    .summary = "machines first, fade band as wide as the braking needs to stay unfelt",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
