/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BLEND_COMMON_H
#define BW_BLEND_COMMON_H

#include "blend.h"

#include <stdbool.h>

/** Small steps that several strategies share. Each is a plain function of its arguments. */

static inline double blend_smaller(double a, double b) {
  return a < b ? a : b;
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
    return input->demand_pedal + input->demand_overrun;
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

#endif
