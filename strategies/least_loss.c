/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* least-loss: two machines share so that the most power reaches the DC link.
 *
 * Idea: machine i with the axle torque T at speed v sends
 *
 *     P_i(T) = c_i v T - d_i T^2 - N_i(v),   c = efficiency / r,   d = kT (efficiency / ratio)^2,
 *                                            N = k0 + k1 w + k2 w^2,   w = v ratio / r
 *
 * into the DC link. Of all splits of M = T_f + T_r the best has equal marginal power (Lagrange),
 *
 *     T_f = [(c_f - c_r) v + 2 d_r M] / [2 (d_f + d_r)],   clipped to its limits,
 *
 * and no machine goes beyond T_i* = c_i v / (2 d_i), where more torque sends less. A machine that
 * costs nothing when it is switched off may be better off: one machine alone is taken when its
 * power, with the other's no-load loss saved, is the greater one. To change over it must gain at
 * least switch_gain, or two equal choices would alternate. Where the plant has a loss map, k0, k1,
 * k2 and kT are what the controller believes of it: the nearer they are fitted to the map, the
 * nearer the split comes to the map's best one.
 * Limits: torque available, balance rule (an axle's part of the demand, blend_rule_share(), and
 * what the other axle really gives, blend_front_hold() and blend_rear_hold(), also after the
 * other machine has let go), a fade over speed as wide as the braking needs to stay unfelt
 * (blend_felt_room()), rise limit on the sum. Friction fills towards the ideal share.
 *
 * Source: two machines split by their loss maps, Electronics 12 (2023) 2903 and Huang and Wang CDC
 * 2011 (abstracts read); the closed form is ours.
 *
 * Parameters: the table below. State: last sum and mode, prepared constants. */

enum {
  FADE_START_KMH,
  FADE_END_KMH,
  FELT_PERCENT,
  RISE_NM_PER_S,
  SWITCH_GAIN_W,
  MARGIN_PERCENT,
  RAMP_PERCENT,
  PARAM_COUNT
};

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_start_kmh", 0.0, 60.0, 6.5, "latest start of the fade of the machines"},
    {"fade_end_kmh", 0.0, 60.0, 4.5, "low end of the fade, where the exchange shall be done"},
    {"felt_percent", 0.0, 200.0, 65.0,
     "dip aimed at, over the felt line, by a wider fade where needed; 0: fade as given"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of the machines' request, both at the axle"},
    {"switch_gain_w", 0.0, 1e4, 100.0, "least gain for switching a machine on or off"},
    {"margin_percent", 0.0, 10.0, 2.0, "distance kept from the rule's lines, in adhesion used"},
    {"order_ramp_percent", 0.1, 10.0, 5.0,
     "braking rate over which the order of the axles comes in, ending at 14 %"},
};

enum mode { BOTH, FRONT_ALONE, REAR_ALONE, MODES };

struct machine {
  double rise;    /* 1/m, c */
  double bend;    /* W/(N m)^2, d */
  double turns;   /* rad/m, shaft angle per way */
  double loss[3]; /* k0, k1, k2 */
};

struct memory {
  struct machine machine[BW_AXLES];
  double last; /* N m, both machines */
  double rise; /* N m per period */
  double gain; /* W */
  double margin;
  double ramp;
  struct blend_felt_fade fade;
  enum mode mode;
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  for (int i = 0; i < BW_AXLES; i++) {
    const double ratio = info->machine_ratio[i];
    const double shaft = ratio > 0.0 ? info->machine_efficiency[i] / ratio : 0.0;
    memory->machine[i] = (struct machine){
        .rise = info->machine_efficiency[i] / info->tyre_radius,
        .bend = info->machine_loss[i][3] * shaft * shaft,
        .turns = ratio / info->tyre_radius,
        .loss = {info->machine_loss[i][0], info->machine_loss[i][1], info->machine_loss[i][2]},
    };
  }
  memory->last = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->gain = params[SWITCH_GAIN_W];
  memory->margin = params[MARGIN_PERCENT] / 100.0;
  memory->ramp = params[RAMP_PERCENT] / 100.0;
  const double dip = info->felt_deceleration * params[FELT_PERCENT] / 100.0;
  memory->fade =
      blend_felt_fade_make(info, params[FADE_START_KMH] / 3.6, params[FADE_END_KMH] / 3.6, dip);
  memory->mode = BOTH;
}

/* most torque of machine `i` that is available, admitted and still sends more */
static double greatest(const struct machine *machine, double speed, double available) {
  const double most = blend_not_negative(available);
  const double rise = machine->rise * speed;
  return rise < 2.0 * machine->bend * most ? rise / (2.0 * machine->bend) : most;
}

/* equal marginal power within the limits */
static void split(const struct memory *memory, double speed, const double most[BW_AXLES],
                  double total, double torque[BW_AXLES]) {
  const struct machine *front = &memory->machine[BW_FRONT];
  const struct machine *rear = &memory->machine[BW_REAR];
  if (most[BW_FRONT] + most[BW_REAR] <= total) {
    torque[BW_FRONT] = most[BW_FRONT];
    torque[BW_REAR] = most[BW_REAR];
    return;
  }
  const double bend = 2.0 * (front->bend + rear->bend);
  const double lead = (front->rise - rear->rise) * speed + 2.0 * rear->bend * total;
  const double best = bend > 0.0 ? lead / bend : 0.5 * total;
  torque[BW_FRONT] = blend_clip(best, blend_not_negative(total - most[BW_REAR]),
                                blend_smaller(total, most[BW_FRONT]));
  torque[BW_REAR] = blend_smaller(total - torque[BW_FRONT], most[BW_REAR]);
}

static double power(const struct bw_blend_info *info, const struct machine *machine, int axle,
                    double speed, double torque) {
  if (!(torque > 0.0) && info->machine_gates_off[axle] != 0) {
    return 0.0;
  }
  const double omega = machine->turns * speed;
  const double no_load = machine->loss[0] + omega * (machine->loss[1] + omega * machine->loss[2]);
  return torque * (machine->rise * speed - machine->bend * torque) - no_load;
}

/* What one machine may take once the other has let go: that one's friction is slower to come, and
 * the axles would be out of balance meanwhile. */
static void limit_alone(const struct memory *memory, const struct bw_blend_info *info,
                        const struct bw_blend_input *input, const double most[BW_AXLES],
                        double limit[MODES][BW_AXLES]) {
  const double front = blend_not_negative(input->friction_estimate[BW_FRONT]);
  const double rear = blend_not_negative(input->friction_estimate[BW_REAR]);
  limit[BOTH][BW_FRONT] = most[BW_FRONT];
  limit[BOTH][BW_REAR] = most[BW_REAR];
  limit[FRONT_ALONE][BW_FRONT] = blend_front_hold_at(info, rear, most[BW_FRONT], memory->margin);
  limit[FRONT_ALONE][BW_REAR] = 0.0;
  limit[REAR_ALONE][BW_FRONT] = 0.0;
  limit[REAR_ALONE][BW_REAR] = blend_smaller(
      most[BW_REAR], blend_not_negative(blend_rear_hold_at(info, front, memory->margin) - rear));
}

/* the best of both machines, front alone, rear alone; keeps the mode unless another gains */
static void choose(struct memory *memory, const struct bw_blend_info *info,
                   const struct bw_blend_input *input, const double most[BW_AXLES], double total,
                   double torque[BW_AXLES]) {
  const double speed = input->speed;
  double limits[MODES][BW_AXLES];
  limit_alone(memory, info, input, most, limits);
  double best = 0.0;
  enum mode chosen = BOTH;
  for (int mode = 0; mode < MODES; mode++) {
    double tried[BW_AXLES];
    split(memory, speed, limits[mode], total, tried);
    double sent = mode == (int)memory->mode ? memory->gain : 0.0;
    for (int i = 0; i < BW_AXLES; i++) {
      sent += power(info, &memory->machine[i], i, speed, tried[i]);
    }
    if (mode == 0 || sent > best) {
      best = sent;
      chosen = (enum mode)mode;
      torque[BW_FRONT] = tried[BW_FRONT];
      torque[BW_REAR] = tried[BW_REAR];
    }
  }
  memory->mode = chosen;
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double faded = blend_felt_room(&memory->fade, input, demand);
  const struct blend_share share = blend_rule_share(info, demand, memory->margin, memory->ramp);
  double most[BW_AXLES];
  blend_rule_caps(info, &share, demand, most);
  most[BW_FRONT] = blend_front_hold(
      info, input, blend_smaller(most[BW_FRONT], input->machine_available[BW_FRONT]),
      memory->margin);
  most[BW_REAR] = blend_smaller(most[BW_REAR], blend_rear_hold(info, input, memory->margin));
  for (int i = 0; i < BW_AXLES; i++) {
    const double able = blend_smaller(most[i], input->machine_available[i]);
    most[i] = greatest(&memory->machine[i], input->speed, able);
  }
  double total = blend_smaller(faded, blend_machine_room(info, input));
  total = blend_rise_limit(total, memory->last, memory->rise);
  choose(memory, info, input, most, total, request->machine);
  memory->last = request->machine[BW_FRONT] + request->machine[BW_REAR];
  blend_felt_remember(&memory->fade, request, demand);
  blend_fill_axles(info, demand, &share, request);
}

const struct bw_blend_strategy BW_STRATEGY_LEAST_LOSS = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "least-loss",
    .summary = "two machines share so that the most power reaches the battery, in the balance rule",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
