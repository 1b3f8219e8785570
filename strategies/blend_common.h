/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BLEND_COMMON_H
#define BW_BLEND_COMMON_H

#include "blend.h"

#include <math.h>
#include <stdbool.h>

/** Small steps that several strategies share. Each is a plain function of its arguments. */

static inline double blend_smaller(double a, double b) {
  return a < b ? a : b;
}

static inline double blend_larger(double a, double b) {
  return a > b ? a : b;
}

/** x within low .. high; `high` wins where they cross. */
static inline double blend_clip(double x, double low, double high) {
  return blend_smaller(blend_larger(x, low), high);
}

/** N m, all that the driver asks for. */
static inline double blend_demand(const struct bw_blend_input *input) {
  return input->demand_pedal + input->demand_overrun;
}

static inline double blend_not_negative(double x) {
  return x > 0.0 ? x : 0.0;
}

/** Fade band over speed: 0 up to `end`, 1 from `start` on, straight between. A band turned upside
 *  down (start below end) is a step at `end`. */
static inline double blend_fade(double speed, double start, double end) {
  if (!(speed > end)) {
    return 0.0;
  }
  return speed >= start ? 1.0 : (speed - end) / (start - end);
}

/** Front share of the friction torque when both axles see the same pressure above threshold. */
static inline double blend_fixed_share(const struct bw_blend_info *info) {
  const double sum = info->friction_per_pressure[BW_FRONT] + info->friction_per_pressure[BW_REAR];
  return sum > 0.0 ? info->friction_per_pressure[BW_FRONT] / sum : 0.5;
}

/** Torque (N m) that the layout leaves to the machines: a coupled pedal keeps D / (1 + rho) of the
 *  pedal's demand at the friction brakes whatever the controller says. */
static inline double blend_machine_room(const struct bw_blend_info *info,
                                        const struct bw_blend_input *input) {
  if (info->layout != BW_LAYOUT_PEDAL_COUPLED) {
    return blend_demand(input);
  }
  const double rho = info->parallel_ratio;
  return input->demand_pedal * (rho / (1.0 + rho)) + input->demand_overrun;
}

/** Give each machine its part of `total` (N m), in proportion to what it can do now, and return
 *  what both give together: `total`, or less when the machines are at their limit. */
static inline double blend_split_machines(const struct bw_blend_input *input, double total,
                                          struct bw_blend_request *request) {
  const double front = blend_not_negative(input->machine_available[BW_FRONT]);
  const double rear = blend_not_negative(input->machine_available[BW_REAR]);
  const double both = front + rear;
  if (!(total < both)) {
    request->machine[BW_FRONT] = front;
    request->machine[BW_REAR] = rear;
    return both;
  }
  /* here both > total >= 0 */
  const double share = total / both;
  request->machine[BW_FRONT] = share * front;
  request->machine[BW_REAR] = share * rear;
  return total;
}

/** Set the friction torques (N m, each >= 0) of two free axles; what exceeds an axle's greatest
 *  torque moves to the other one, as far as that can take it. */
static inline void blend_friction_free(const struct bw_blend_info *info, double front, double rear,
                                       struct bw_blend_request *request) {
  if (front <= info->friction_torque_max[BW_FRONT] && rear <= info->friction_torque_max[BW_REAR]) {
    request->friction[BW_FRONT] = front;
    request->friction[BW_REAR] = rear;
    return;
  }
  const double over_front = blend_not_negative(front - info->friction_torque_max[BW_FRONT]);
  const double over_rear = blend_not_negative(rear - info->friction_torque_max[BW_REAR]);
  const double room_front = blend_not_negative(info->friction_torque_max[BW_FRONT] - front);
  const double room_rear = blend_not_negative(info->friction_torque_max[BW_REAR] - rear);
  request->friction[BW_FRONT] = front - over_front + blend_smaller(over_rear, room_front);
  request->friction[BW_REAR] = rear - over_rear + blend_smaller(over_front, room_rear);
}

/** Set the friction torques for `total` (N m, >= 0) with the fixed front share `share`. Free axles
 *  help each other out; with one pressure for both, the first axle at its limit stops both. */
static inline void blend_friction_fixed(const struct bw_blend_info *info, double share,
                                        double total, struct bw_blend_request *request) {
  double front = share * total;
  double rear = total - front;
  if (info->layout == BW_LAYOUT_PER_AXLE) {
    blend_friction_free(info, front, rear, request);
    return;
  }
  if (front > info->friction_torque_max[BW_FRONT]) {
    rear *= info->friction_torque_max[BW_FRONT] / front;
    front = info->friction_torque_max[BW_FRONT];
  }
  if (rear > info->friction_torque_max[BW_REAR]) {
    front *= info->friction_torque_max[BW_REAR] / rear;
    rear = info->friction_torque_max[BW_REAR];
  }
  request->friction[BW_FRONT] = front;
  request->friction[BW_REAR] = rear;
}

/** `wanted` (N m), but no more than `rise` (N m) above the last value. Falling is free, because a
 *  falling limit must be obeyed. */
static inline double blend_rise_limit(double wanted, double last, double rise) {
  return blend_smaller(wanted, last + rise);
}

/** Friction path as a whole, its two axles weighted with their share of the torque. */
struct blend_path {
  double dead_time; /**< s */
  double lag;       /**< s */
};

static inline struct blend_path blend_friction_path(const struct bw_blend_info *info) {
  const double front = blend_fixed_share(info);
  return (struct blend_path){
      .dead_time = front * info->friction_dead_time[BW_FRONT] +
                   (1.0 - front) * info->friction_dead_time[BW_REAR],
      .lag = front * info->friction_lag[BW_FRONT] + (1.0 - front) * info->friction_lag[BW_REAR],
  };
}

/** Torque rate (N m/s) at which machine and friction may be exchanged so that the dip just reaches
 *  `dip` (m/s2): R (tau + theta) = dip m r, the ceiling of the peak law (closed form, derived,
 *  HO-2). A path without delay may be exchanged at any rate. */
static inline double blend_exchange_rate(const struct bw_blend_info *info, double dip) {
  const struct blend_path path = blend_friction_path(info);
  const double delay = path.dead_time + path.lag;
  const double most = 1e9; /* N m/s: any torque within one period */
  const double torque = dip * info->mass * info->tyre_radius;
  return torque < most * delay ? torque / delay : most;
}

/** A fade of the machines over speed whose band is as wide as the braking needs to stay unfelt, and
 *  a limit of the same law on how fast they give back of their own accord: see speed-band, whose
 *  idea it is. Without an aimed dip only the band that the calibration gives. */
struct blend_felt_fade {
  double start;       /**< m/s, latest start of the fade */
  double end;         /**< m/s */
  double band;        /**< m/s per (N m m/s2): band over D a; 0: as given */
  double fall;        /**< N m per period */
  double inertia;     /**< kg m, m r */
  double last;        /**< N m, both machines, last request */
  double last_demand; /**< N m */
};

/** `dip` is the dip aimed at (m/s2), 0 for a band as given. */
static inline struct blend_felt_fade blend_felt_fade_make(const struct bw_blend_info *info,
                                                          double start, double end, double dip) {
  const double rate = blend_exchange_rate(info, dip);
  return (struct blend_felt_fade){
      .start = start,
      .end = end,
      .band = dip > 0.0 ? 1.0 / rate : 0.0,
      .fall = dip > 0.0 ? rate * info->period : (double)INFINITY,
      .inertia = info->mass * info->tyre_radius,
  };
}

/** Torque (N m) of `demand` that the fade leaves to both machines now. */
static inline double blend_felt_room(const struct blend_felt_fade *fade,
                                     const struct bw_blend_input *input, double demand) {
  const double slowing = blend_larger(input->deceleration, demand / fade->inertia);
  const double start = blend_larger(fade->start, fade->end + fade->band * demand * slowing);
  const double faded = blend_fade(input->speed, start, fade->end) * demand;
  const double carried =
      demand < fade->last_demand ? fade->last * (demand / fade->last_demand) : fade->last;
  return blend_smaller(demand, blend_larger(faded, carried - fade->fall));
}

/** To be told what was asked of the machines, N m. */
static inline void blend_felt_remember(struct blend_felt_fade *fade,
                                       const struct bw_blend_request *request, double demand) {
  fade->last = request->machine[BW_FRONT] + request->machine[BW_REAR];
  fade->last_demand = demand;
}

/** m/s2, as the evaluator's plant */
#define BLEND_GRAVITY 9.81

/** Front axle's share of the brake force: what balance asks for. */
struct blend_share {
  double low;
  double high;
  double ideal; /**< both axles use the same grip */
};

/** Front share at the braking rate `z` with which both axles use the same grip, on the level. */
static inline double blend_ideal_share(const struct bw_blend_info *info, double z) {
  const double behind = info->wheelbase - info->cg_to_front;
  return blend_smaller((behind + info->cg_height * z) / info->wheelbase, 1.0);
}

/** Braking rate that `demand` (N m) means, in parts of g. */
static inline double blend_braking_rate(const struct bw_blend_info *info, double demand) {
  return demand / (info->mass * BLEND_GRAVITY * info->tyre_radius);
}

/** Range of the front share at `demand` (N m) inside the balance rule. With z = D / (r m g), axle
 *  loads as shares n_f = (b + h z) / L and n_r = 1 - n_f of the weight, and front share p:
 *
 *    k line     p z / n_f <= k,  (1 - p) z / n_r <= k,   k = 0.2 + max(0, z - 0.1) / c - margin
 *    order      p z / n_f >= (1 - p) z / n_r + 2 margin    from z = 0.15 on (two axles can be off)
 *
 *  The order comes in gently from z = 0.14 - ramp to 0.14: as a step it would swap half the torque
 *  at once. Above 0.8 the rule asks for less than is kept here.
 *  Source: k line read in EU 2015/68 Annex II App. 1; order for category M1 read in 71/320/EEC
 *  Annex II App. 3.1.1; solved for p here. */
static inline struct blend_share blend_rule_share(const struct bw_blend_info *info, double demand,
                                                  double margin, double ramp) {
  const double z = blend_braking_rate(info, demand);
  const double front = blend_ideal_share(info, z);
  struct blend_share share = {.low = 0.0, .high = 1.0, .ideal = front};
  if (!(z > 1e-6)) {
    return share;
  }
  const double line = 0.2 + blend_not_negative(z - 0.1) / info->balance_slope - margin;
  share.high = blend_smaller(1.0, line * front / z);
  share.low = blend_not_negative(1.0 - line * (1.0 - front) / z);
  const double onset = 0.14;
  const double weight = blend_fade(z, onset, onset - ramp);
  if (weight > 0.0) {
    const double order = front + 2.0 * margin * front * (1.0 - front) / z;
    share.low = blend_larger(share.low, weight * order);
  }
  if (share.low > share.high) {
    share.low = share.high = front;
  }
  return share;
}

/** Most torque (N m) each machine may take of `demand` inside the range of the front share,
 *  whatever the other one does. With one pressure friction comes at the front share s and the
 *  balance is (low - s) D <= (1 - s) M_f - s M_r <= (high - s) D, taken with the other at rest. */
static inline void blend_rule_caps(const struct bw_blend_info *info,
                                   const struct blend_share *share, double demand, double cap[2]) {
  cap[BW_FRONT] = share->high * demand;
  cap[BW_REAR] = (1.0 - share->low) * demand;
  if (info->layout == BW_LAYOUT_PER_AXLE) {
    return;
  }
  const double s = blend_fixed_share(info);
  const double above = blend_not_negative(share->high - s);
  const double below = blend_not_negative(s - share->low);
  cap[BW_FRONT] = above < 1.0 - s ? demand * (above / (1.0 - s)) : demand;
  cap[BW_REAR] = below < s ? demand * (below / s) : demand;
}

/** Most torque (N m) the rear axle may be given now, while the front axle gives what its inverter
 *  and its pressure say: friction comes later than a machine, and a rear machine that does not wait
 *  for it leads the front for a moment (`.._at`: the front axle gives `front`). Below z = 0.14 it
 *  may; above, the rear stays below its ideal share of the front's torque T_f,
 *
 *    z = [sqrt(b^2 + 4 h L T_f / (r m g)) - b] / (2 h),
 *
 *  and twice `margin` of its own adhesion below that.
 *  Source: ideal parabola over the front force, statics, derived (BAL-3). */
static inline double blend_rear_hold_at(const struct bw_blend_info *info, double front,
                                        double margin) {
  const double weight = info->mass * BLEND_GRAVITY * info->tyre_radius;
  const double rear = weight * (info->cg_to_front / info->wheelbase);
  const double behind = info->wheelbase - info->cg_to_front;
  const double part = info->wheelbase * front / weight;
  const double root = sqrt(behind * behind + 4.0 * info->cg_height * part);
  const double z = root + behind > 0.0 ? 2.0 * part / (root + behind) : 0.0;
  return blend_not_negative(blend_larger(0.14 * weight, z * weight - 2.0 * margin * rear) - front);
}

static inline double blend_rear_hold(const struct bw_blend_info *info,
                                     const struct bw_blend_input *input, double margin) {
  const double front = blend_not_negative(input->machine_estimate[BW_FRONT]) +
                       blend_not_negative(input->friction_estimate[BW_FRONT]);
  return blend_rear_hold_at(info, front, margin);
}

/** What the front machine may be given now of `wanted` (N m), while the rear axle gives T_r as its
 *  estimates say: a front machine that is faster than the rear brakes would pass the k line for a
 *  moment. With X = z W - T_r, W = r m g, the line X <= (k0 + z / c) W (b + h z) / L,
 *  k0 = 0.2 - 0.1 / c - margin, is
 *
 *    h / (c L) z^2 - [1 - b / (c L) - k0 h / L] z + k0 b / L + T_r / W >= 0,
 *
 *  broken between its two roots only. When `wanted` comes to rest between them it waits at the
 *  first one. Source: as blend_rule_share(). */
static inline double blend_front_hold_at(const struct bw_blend_info *info, double rear,
                                         double wanted, double margin) {
  const double weight = info->mass * BLEND_GRAVITY * info->tyre_radius;
  const double behind = (info->wheelbase - info->cg_to_front) / info->wheelbase;
  const double high = info->cg_height / info->wheelbase;
  const double flat = 0.2 - 0.1 / info->balance_slope - margin;
  const double square = high / info->balance_slope;
  const double linear = 1.0 - behind / info->balance_slope - flat * high;
  const double rest = flat * behind + rear / weight;
  const double radicand = linear * linear - 4.0 * square * rest;
  if (!(radicand > 0.0) || !(linear > 0.0)) {
    return wanted; /* the line is kept whatever the machine does */
  }
  const double sum = linear + sqrt(radicand);
  /* a settled machine rests on the second root; one part in a hundred keeps it there */
  if (2.0 * square * (wanted + rear) >= 0.99 * sum * weight) {
    return wanted;
  }
  const double first = blend_larger(2.0 * rest / sum, 0.1);
  return blend_smaller(wanted, blend_not_negative(first * weight - rear));
}

static inline double blend_front_hold(const struct bw_blend_info *info,
                                      const struct bw_blend_input *input, double wanted,
                                      double margin) {
  const double rear = blend_not_negative(input->machine_estimate[BW_REAR]) +
                      blend_not_negative(input->friction_estimate[BW_REAR]);
  return blend_front_hold_at(info, rear, wanted, margin);
}

/** Let friction fill what the machines in *request leave of `demand`: free axles as near to the
 *  ideal front share as its range and the machines allow, one pressure in its proportion. */
static inline void blend_fill_axles(const struct bw_blend_info *info, double demand,
                                    const struct blend_share *share,
                                    struct bw_blend_request *request) {
  const double rest =
      blend_not_negative(demand - request->machine[BW_FRONT] - request->machine[BW_REAR]);
  if (info->layout != BW_LAYOUT_PER_AXLE) {
    blend_friction_fixed(info, blend_fixed_share(info), rest, request);
    return;
  }
  const double wanted = blend_clip(share->ideal, share->low, share->high) * demand;
  const double front = blend_clip(wanted - request->machine[BW_FRONT], 0.0, rest);
  blend_friction_free(info, front, rest - front, request);
}

#endif
