/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SLIP_WHEEL_H
#define BW_SLIP_WHEEL_H

#include "model/tyre.h"

#include <stdbool.h>

/** One wheel (or one axle's wheels taken together) over one step.
 *
 *    J dw/dt = r F - T_drive - T_friction,    F = N mu(s)
 *  with T_drive free (machine or shaft, positive when it retards) and T_friction the friction
 *  brake: its size is at most `capacity` and it acts against the rotation, or holds a wheel that
 *  stands. F is taken at the point theta of the step,
 *    s_th = (sigma s0 + theta dt u_th)/(sigma + theta dt V_th),  u = v - r w,
 *  and theta grows from 1/2 (second order) to 1 - 1/z where the tyre is stiffer than the step,
 *  z = dt times its rate, so that the fast mode dies out instead of alternating. */
struct bw_slip_wheel {
  double omega;        /**< rad/s, positive forward */
  double slip;         /**< 1, after relaxation */
  double force;        /**< N, of the last step */
  double force_before; /**< N, of the one before */
};

/** What acts on it during the step. */
struct bw_slip_action {
  double step;         /**< s */
  double speed;        /**< m/s at the start */
  double deceleration; /**< m/s2, expected over the step */
  double radius;       /**< m */
  double inertia;      /**< kg m2 */
  double load;         /**< N, >= 0 */
  double grip;         /**< factor on the tyre's own friction */
  double drive;        /**< N m, retarding, of either sign */
  double capacity;     /**< N m, >= 0, greatest friction torque */
  double guess;        /**< N, where the search for the force starts */
};

/** What happened: force and torque are held over the step. */
struct bw_slip_outcome {
  struct bw_slip_wheel end;
  double friction; /**< N m, signed: against forward rotation positive */
};

/** Advance the wheel. */
void bw_slip_wheel_step(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                        const struct bw_slip_action *action, struct bw_slip_outcome *out);

#endif
