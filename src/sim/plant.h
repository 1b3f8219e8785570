/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PLANT_H
#define BW_PLANT_H

#include "extrema.h"
#include "sim/fault.h"
#include "sim/hot.h"
#include "sim/limits.h"
#include "sim/message.h"
#include "sim/sample.h"
#include "sim/slip.h"

/** One car in motion: everything that changes during a run, advanced by control periods. */

struct bw_plant {
  const struct bw_case *loaded;
  struct bw_hot_coefficients fine;  /**< for sub-steps */
  struct bw_hot_coefficients whole; /**< for one step of a whole period, the car parked */
  struct bw_hot_state state;
  double (*delivered)[BW_LANES]; /**< (BW_SUBSTEPS_MAX) where the sub-step torques go */
  /** Commands of past periods, newest at `newest`; N m and Pa. */
  double machine_command[2][BW_DELAY_PERIODS];
  double pressure_command[2][BW_DELAY_PERIODS];
  size_t newest;
  size_t machine_delay[2]; /**< whole periods of dead time */
  size_t friction_delay[2];
  struct bw_battery_state battery;
  double machine_temperature[2]; /**< K */
  double rotor_temperature[2];   /**< K */
  /* prepared once, so that a period divides little */
  struct bw_limits_rule rule;
  struct bw_statics statics;
  struct bw_friction_pace rotor_pace; /**< for one control period */
  double per_heat_capacity[2];        /**< K/J, machines */
  double per_efficiency[2];           /**< 1, gears */
  double per_slip_stiffness;          /**< 1 */
  double per_substeps;                /**< 1, one over the sub-steps of a period */
  double per_mass;                    /**< 1/kg */
  double reach;                       /**< m/s that a period can at most take off or add */
  double least_load;                  /**< N, of an axle in the slip formula */
  double machine_near[2];             /**< N m, nearer to a command a machine is at it */
  double pressure_near[2];            /**< Pa, the same of a pressure */
  double friction_most[2];            /**< N m, nominal, at the greatest pressure */
  double effective_mass;              /**< kg */
  double axle_inertia[2];             /**< kg m2 */
  double per_period;                  /**< 1/s, one over the control period */
  double per_slip_load[2];            /**< 1/N, one over load x slip stiffness, of this period */
  double distance;                    /**< m */
  double deceleration;                /**< m/s2, mean of the last period */
  double slip[2];                     /**< mean of the last period */
  double load[2];                     /**< N, axle loads of the last period */
  struct bw_slip slip_state;          /**< fidelity `slip`: body and wheels */
  struct bw_fault_state fault;
  struct bw_hot_period period; /**< the last one, or the present */
  struct bw_hot_sums sums;     /**< of the last period */
  bool has_links;              /**< messages to the machines are anything but a wire */
  struct bw_message_link link[2];
};

/** Lower `limits` to what the antilock controller leaves to the machines. */
void bw_plant_hold_back(const struct bw_plant *plant, struct bw_limits *limits);

/** What the controller ordered for one period, before the plant has clipped it. */
struct bw_order {
  struct bw_blend_request request; /**< N m */
  double drive[2];                 /**< N m, driving torque per axle, >= 0 */
  double demand;                   /**< N m, total braking demand */
  double demand_pedal;             /**< N m */
};

/** Set *plant to the start of a run at `speed` (m/s), at rest thermally, actuators released.
 *  `plant->delivered` must be set by the caller afterwards. BW_E_RANGE when a dead time is
 *  longer than BW_DELAY_PERIODS - 2 control periods. */
BW_MUST_CHECK enum bw_status bw_plant_start(const struct bw_case *loaded, double speed,
                                            struct bw_plant *plant, struct bw_diag *diag);

/** Speed expected in the middle of the coming period (m/s): limits are taken there, so that
 *  holding them over the period is right to second order. */
static inline double bw_plant_speed_ahead(const struct bw_plant *plant) {
  const double ahead =
      plant->state.speed[0] - 0.5 * plant->loaded->control_period * plant->deceleration;
  return bw_max(0.0, ahead);
}

/** Advance by one period starting at `time`, `limits` and `sin_slope` held, and fill every field
 *  of *sample that the plant knows (all but reference_* and demand_overrun). `may_park` tells
 *  that the trace stands still. BW_E_NUMERIC with the signal's name if anything is not finite or
 *  the battery cannot give the power. */
BW_MUST_CHECK enum bw_status bw_plant_advance(struct bw_plant *plant,
                                              const struct bw_limits *limits,
                                              const struct bw_order *order, double sin_slope,
                                              bool may_park, struct bw_sample *sample,
                                              struct bw_diag *diag);

#endif
