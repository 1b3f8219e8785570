/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_LIMITS_H
#define BW_LIMITS_H

#include "input/case.h"

#include <stdbool.h>
#include <stddef.h>

/** What the machines and the battery allow during one control period, at the axles. */
struct bw_limits {
  double omega[2];          /**< rad/s at the shaft, expected in the middle of the period */
  double envelope[2];       /**< N m at the axle, braking, machine alone without the battery */
  double alone[2];          /**< N m, with the battery, the other machine idle */
  double joint[2];          /**< N m, both machines braking at once in proportion to `alone` */
  double continuous[2];     /**< N m, continuous rating, within `joint` */
  double drive[2];          /**< N m, driving, battery included, sharing in proportion */
  double pulse_left[2];     /**< s until heat or pulse budget lowers `joint` */
  enum bw_limit binding[2]; /**< what binds `alone` */
  double charge_power;      /**< W the DC link can take: terminals and auxiliaries */
  enum bw_limit charge_binding;
  double drive_power;               /**< W that the battery leaves to the machines */
  struct bw_battery_limits battery; /**< what the rest follows from */
};

/** What of the limits stays the same over a run, prepared once. */
struct bw_limits_rule {
  double to_axle[2];         /**< 1, braking: axle torque per shaft torque */
  double to_shaft[2];        /**< 1, its inverse */
  double drive_to_axle[2];   /**< 1, driving: axle torque per shaft torque */
  double omega_per_speed[2]; /**< 1/m, ratio over tyre radius */
  double drive_share[2];     /**< 1, part of the battery's power that the machine may drive with */
  size_t first;              /**< axles with a machine: from `first` to before `end` */
  size_t end;
  bool are_two; /**< both axles have one */
};

struct bw_limits_rule bw_limits_rule(const struct bw_case *loaded);

/** Conditions in which the limits are asked for. */
struct bw_limits_input {
  double speed;                  /**< m/s, expected in the middle of the period */
  double slip[2];                /**< of the last period */
  double machine_temperature[2]; /**< K */
  const struct bw_battery_state *battery;
  double voltage_rise; /**< V off the room to the voltage limit, of a fault */
  double charge_lost;  /**< 0..1 of the charge power, of a fault */
};

/** Fill *limits for the case whose rule is `rule`. Axles without a machine are left as they are:
 *  *limits is zeroed before the first call. */
void bw_limits_find_by(const struct bw_case *loaded, const struct bw_limits_rule *rule,
                       const struct bw_limits_input *input, struct bw_limits *restrict limits);

/** The same, for who asks once; *limits may hold anything. */
void bw_limits_find(const struct bw_case *loaded, const struct bw_limits_input *input,
                    struct bw_limits *limits);

/** Greatest factor in 0..1 by which both axle torques `torque` (N m, braking) may be multiplied
 *  so that the machines together send no more than limits->charge_power into the DC link. The
 *  power of the sum has two roots like that of one machine (machine.h); the first one is taken. */
double bw_limits_scale(const struct bw_case *loaded, const struct bw_limits *limits,
                       const double torque[2]);

#endif
