/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"
#include "loss_curve.h"

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
 * least switch_gain, or two equal choices would alternate. A machine with a loss map sends what the
 * map says: straight lines over torque, whose corners are compared (loss_curve.h), so the split is
 * the map's own best one, not that of terms fitted to it. Where lines of two maps are equally steep
 * the best split jumps from one end to the other; a jump has to gain a fiftieth of switch_gain, or
 * a trembling speed would have it jump to and fro. Limits: torque available, balance rule (an
 * axle's part of the demand, blend_rule_share(), and what the other axle really gives,
 * blend_front_hold() and blend_rear_hold(), also after the other machine has let go), a fade over
 * speed as wide as the braking needs to stay unfelt (blend_felt_room()), rise limit on the sum.
 * Friction fills towards the ideal share.
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

/* N m at the axle and period: a smaller move of torque between the machines is no jump */
static const double FREE_STEP = 20.0;
/* part of switch_gain that a jump has to gain: 2 W of 100 W */
static const double JUMP_SHARE = 0.02;

enum mode { BOTH, FRONT_ALONE, REAR_ALONE, MODES };

struct machine {
  double rise;    /* 1/m, c */
  double bend;    /* W/(N m)^2, d */
  double turns;   /* rad/m, shaft angle per way */
  double loss[3]; /* k0, k1, k2 */
};

struct memory {
  struct machine machine[BW_AXLES];
  bool has_map; /* one of the machines */
  double last;  /* N m, both machines */
  double front; /* N m, front machine */
  double rise;  /* N m per period */
  double gain;  /* W */
  double margin;
  double ramp;
  struct blend_felt_fade fade;
  enum mode mode;
  struct loss_axis axis[BW_AXLES];
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
  memory->has_map = false;
  for (int i = 0; i < BW_AXLES; i++) {
    if (info->machine_loss_map[i].speeds > 0) {
      const double shaft = info->machine_efficiency[i] / info->machine_ratio[i];
      loss_axis_start(&memory->axis[i], &info->machine_loss_map[i], shaft);
      memory->has_map = true;
    }
  }
  memory->last = memory->front = 0.0;
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

static double no_load(const struct machine *machine, double speed) {
  const double omega = machine->turns * speed;
  return machine->loss[0] + omega * (machine->loss[1] + omega * machine->loss[2]);
}

static double power(const struct machine *machine, double speed, double torque) {
  return torque * (machine->rise * speed - machine->bend * torque) - no_load(machine, speed);
}

/* what the machines send at this speed: where one of them has a map, a chain or a parabola each */
struct field {
  double speed; /* m/s */
  double total; /* N m, most of both together */
  bool has_map[BW_AXLES];
  struct loss_curve curve[BW_AXLES];
  struct loss_parabola parabola[BW_AXLES];
};

/* the curves up to torques `able` and the field's; able[] becomes the best torque of each alone */
static void survey(struct memory *memory, const struct bw_blend_info *info, double able[BW_AXLES],
                   struct field *field) {
  const double speed = field->speed;
  const double room = blend_not_negative(field->total);
  for (int i = 0; i < BW_AXLES; i++) {
    const struct machine *machine = &memory->machine[i];
    const struct bw_blend_loss_map *map = &info->machine_loss_map[i];
    const double rise = machine->rise * speed;
    field->has_map[i] = map->speeds > 0;
    if (!field->has_map[i]) {
      able[i] = greatest(machine, speed, able[i]);
      field->parabola[i] =
          (struct loss_parabola){rise, machine->bend, no_load(machine, speed), able[i]};
      continue;
    }
    struct loss_curve *curve = &field->curve[i];
    loss_curve_make(&memory->axis[i], map, machine->turns * speed, rise,
                    blend_smaller(blend_not_negative(able[i]), room), curve);
    able[i] = curve->torque[curve->best[curve->count - 1]];
  }
}

static struct loss_point alone(const struct field *field, int axle, double limit) {
  if (!field->has_map[axle]) {
    return loss_parabola_within(&field->parabola[axle], limit);
  }
  size_t node = field->curve[axle].count - 1;
  return loss_curve_within(&field->curve[axle], limit, &node);
}

/* the best of a mode where one of the machines has a map */
static void split_field(const struct field *field, enum mode mode, const double most[BW_AXLES],
                        struct loss_point put[BW_AXLES]) {
  const double room = blend_not_negative(field->total);
  if (mode != BOTH) {
    for (int i = 0; i < BW_AXLES; i++) {
      put[i] = alone(field, i, blend_smaller(most[i], room));
    }
  } else if (field->has_map[BW_FRONT] && field->has_map[BW_REAR]) {
    loss_curve_pair(field->curve, room, put);
  } else {
    const int map = field->has_map[BW_FRONT] ? BW_FRONT : BW_REAR;
    loss_curve_with_parabola(&field->curve[map], &field->parabola[1 - map], room, &put[map],
                             &put[1 - map]);
  }
}

static double sent_at(const struct field *field, int axle, double torque) {
  return field->has_map[axle] ? loss_curve_power(&field->curve[axle], torque)
                              : loss_parabola_within(&field->parabola[axle], torque).power;
}

/* Both work: keep what the front machine gave, and the sum, when a jump gains too little. */
static void hold(const struct memory *memory, const struct field *field,
                 struct loss_point put[BW_AXLES]) {
  if (memory->mode != BOTH || fabs(put[BW_FRONT].torque - memory->front) < FREE_STEP) {
    return;
  }
  double most[BW_AXLES];
  for (int i = 0; i < BW_AXLES; i++) {
    most[i] = field->has_map[i] ? field->curve[i].torque[field->curve[i].count - 1]
                                : field->parabola[i].most;
  }
  const double sum = put[BW_FRONT].torque + put[BW_REAR].torque;
  const double front = blend_clip(memory->front, blend_not_negative(sum - most[BW_REAR]),
                                  blend_smaller(sum, most[BW_FRONT]));
  const double rear = blend_smaller(sum - front, most[BW_REAR]);
  const struct loss_point held[BW_AXLES] = {{front, sent_at(field, BW_FRONT, front)},
                                            {rear, sent_at(field, BW_REAR, rear)}};
  const double gain = put[BW_FRONT].power + put[BW_REAR].power - held[0].power - held[1].power;
  if (gain < JUMP_SHARE * memory->gain) {
    put[BW_FRONT] = held[BW_FRONT];
    put[BW_REAR] = held[BW_REAR];
  }
}

static void put_mode(const struct memory *memory, const struct field *field, enum mode mode,
                     const double most[BW_AXLES], struct loss_point put[BW_AXLES]) {
  if (memory->has_map) {
    split_field(field, mode, most, put);
    if (mode == BOTH) {
      hold(memory, field, put);
    }
    return;
  }
  double torque[BW_AXLES];
  split(memory, field->speed, most, field->total, torque);
  for (int i = 0; i < BW_AXLES; i++) {
    put[i] = (struct loss_point){torque[i], power(&memory->machine[i], field->speed, torque[i])};
  }
}

/* What the machines may take in a mode. One whose fellow has let go gets less: that one's friction
 * is slower to come, and the axles would be out of balance meanwhile. */
static void limit_mode(const struct memory *memory, const struct bw_blend_info *info,
                       const struct bw_blend_input *input, enum mode mode,
                       const double most[BW_AXLES], double limit[BW_AXLES]) {
  limit[BW_FRONT] = most[BW_FRONT];
  limit[BW_REAR] = most[BW_REAR];
  if (mode == FRONT_ALONE) {
    const double rear = blend_not_negative(input->friction_estimate[BW_REAR]);
    limit[BW_FRONT] = blend_front_hold_at(info, rear, most[BW_FRONT], memory->margin);
    limit[BW_REAR] = 0.0;
  } else if (mode == REAR_ALONE) {
    const double front = blend_not_negative(input->friction_estimate[BW_FRONT]);
    const double hold = blend_rear_hold_at(info, front, memory->margin) -
                        blend_not_negative(input->friction_estimate[BW_REAR]);
    limit[BW_FRONT] = 0.0;
    limit[BW_REAR] = blend_smaller(most[BW_REAR], blend_not_negative(hold));
  }
}

/* letting one machine go can only pay where it then costs nothing; else BOTH holds every split */
static bool is_worth_a_try(const struct bw_blend_info *info, enum mode mode) {
  return mode == BOTH || info->machine_gates_off[mode == FRONT_ALONE ? BW_REAR : BW_FRONT] != 0;
}

/* the best of both machines, front alone, rear alone; keeps the mode unless another gains */
static void choose(struct memory *memory, const struct bw_blend_info *info,
                   const struct bw_blend_input *input, const struct field *field,
                   const double most[BW_AXLES], double torque[BW_AXLES]) {
  double best = 0.0;
  enum mode chosen = BOTH;
  for (int mode = 0; mode < MODES; mode++) {
    if (!is_worth_a_try(info, (enum mode)mode)) {
      continue;
    }
    double limit[BW_AXLES];
    struct loss_point tried[BW_AXLES];
    limit_mode(memory, info, input, (enum mode)mode, most, limit);
    put_mode(memory, field, (enum mode)mode, limit, tried);
    double sent = mode == (int)memory->mode ? memory->gain : 0.0;
    for (int i = 0; i < BW_AXLES; i++) {
      const bool is_off = !(tried[i].torque > 0.0) && info->machine_gates_off[i] != 0;
      sent += is_off ? 0.0 : tried[i].power;
    }
    if (mode == 0 || sent > best) {
      best = sent;
      chosen = (enum mode)mode;
      torque[BW_FRONT] = tried[BW_FRONT].torque;
      torque[BW_REAR] = tried[BW_REAR].torque;
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
    most[i] = blend_smaller(most[i], input->machine_available[i]);
  }
  double total = blend_smaller(faded, blend_machine_room(info, input));
  total = blend_rise_limit(total, memory->last, memory->rise);
  struct field field; /* its curves are filled where there is a map */
  field.speed = input->speed;
  field.total = total;
  if (memory->has_map) {
    survey(memory, info, most, &field);
  } else {
    for (int i = 0; i < BW_AXLES; i++) {
      most[i] = greatest(&memory->machine[i], input->speed, most[i]);
    }
  }
  choose(memory, info, input, &field, most, request->machine);
  memory->last = request->machine[BW_FRONT] + request->machine[BW_REAR];
  memory->front = request->machine[BW_FRONT];
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
