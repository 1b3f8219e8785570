/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SLIP_H
#define BW_SLIP_H

#include "input/case.h"
#include "sim/antilock.h"
#include "sim/hot.h"
#include "sim/slip_wheel.h"
#include "sim/wheel_sense.h"

/** The plant with wheels of their own (fidelity `slip`), advanced by plant sub-steps.
 *
 *  Actuators advance as in hot.h; their mean torque of the sub-step acts on the wheel steps inside
 *  it. Body, wheels, machines and shafts then take steps of simulation.slip_step_us:
 *    m dv/dt = -F_front - F_rear - F_road(|v|) sign(v) - m g sin(theta)
 *    J dw/dt = r F - T_friction - T_machine, or + T_shaft with a compliant driveline,
 *    J_m dw_m/dt = -T_machine - T_shaft,  all at the axle.
 *  The same mean force and torque act on both sides of every contact and work is force x mean speed
 *  x step, so kinetic, rotational and shaft energy, slip heat F (v - r w) and losses balance to
 *  rounding.
 *
 *  Left and right are followed apart only on a road whose sides differ; a rigid driveline then
 *  carries half the machine's inertia on each wheel, as a locked differential would for inertia
 *  but not for torque. Yaw is not followed. */

struct bw_slip_axle {
  size_t sides;   /**< 1: both wheels as one, 2: left and right */
  double inertia; /**< kg m2 of each side, with the machine's part if the driveline is rigid */
  double machine_inertia; /**< kg m2 at the axle behind a compliant shaft, else 0 */
  bool is_compliant;
  struct bw_slip_wheel wheel[2];
  double machine_omega; /**< rad/s at the axle, behind a compliant shaft */
  double twist;         /**< rad */
  double shaft_torque;  /**< N m on the wheels, driving positive, last step */
  double shaft_gain;    /**< of the search for it, a guess */
  double shaft_before;  /**< the same, one step earlier */
  double felt;          /**< Pa, what the pads feel before the antilock valves */
  double pressure[2];   /**< Pa behind the antilock valves */
  struct bw_antilock_channel channel[2];
  struct bw_antilock_machine held_back;
};

/** Sums over one control period that hot.h does not have. */
struct bw_slip_sums {
  double force[2];      /**< N, mean contact force per axle */
  double slip_peak[2];  /**< greatest |slip| of a wheel with the car above walking pace */
  double slip[2];       /**< mean of (v - r w)/V */
  double omega[2];      /**< rad/s at the axle, mean, of the machine or the wheels */
  double shaft[2];      /**< N m, greatest |shaft torque| */
  double shaft_loss[2]; /**< J */
  double antilock;      /**< s with an intervention */
  double locked;        /**< s with a slip above 0.9 and the car above 15 km/h */
  double held;          /**< s held at rest */
  double shortfall;     /**< N lacking to hold the car at rest, greatest */
};

struct bw_slip {
  struct bw_slip_axle axle[2];
  double speed;             /**< m/s, negative backward */
  double deceleration;      /**< m/s2 of the body in the last step */
  double body_deceleration; /**< m/s2 of the body, mean of the last sub-step */
  double transfer;          /**< m/s2 behind the pitch lag */
  double load[2];           /**< N */
  double distance;          /**< m */
  double rest_time;         /**< s since the car came to rest */
  bool is_held;
  size_t hint[2];              /**< place on the surface */
  size_t decisions;            /**< sub-steps since the last antilock decision */
  struct bw_wheel_sense sense; /**< of the antilock controller */
  struct bw_slip_sums sums;
};

/** Start at `speed` (m/s), wheels rolling freely, shafts in the middle of their lash. */
void bw_slip_start(const struct bw_case *loaded, double speed, struct bw_slip *slip);

/** Let a strategy choose what its machines do under antilock: `flags` of its table. */
void bw_slip_take_policy(struct bw_slip *slip, uint32_t flags);

/** Energy of body, wheels, machines and shafts (J). */
double bw_slip_energy(const struct bw_case *loaded, const struct bw_slip *slip);

/** Speed of the rims of axle `i` (m/s), mean of both sides, negative backward. */
double bw_slip_rim(const struct bw_case *loaded, const struct bw_slip *slip, int i);

/** Advance by one control period. `fine` and `period` as for bw_hot_run(), `state` the actuators;
 *  fills *sums, slip->sums, `delivered` and `deceleration` (substeps; m/s2 of the body). */
void bw_slip_run(const struct bw_case *loaded, const struct bw_hot_coefficients *fine,
                 const struct bw_hot_period *period, struct bw_hot_state *state,
                 struct bw_slip *slip, struct bw_hot_sums *sums, double (*delivered)[BW_LANES],
                 double *deceleration);

#endif
