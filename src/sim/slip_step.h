/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SLIP_STEP_H
#define BW_SLIP_STEP_H

#include "sim/slip.h"

/** One step of body, wheels, machines and shafts (slip.h), torques held. */

struct bw_slip_torques {
  double machine[2];     /**< N m at the axle, negative when driving */
  double capacity[2][2]; /**< N m, greatest friction torque of each side */
  double grip[2];        /**< factor on the tyre's own friction, left and right */
  double slope_force;    /**< N */
};

/** Works of the steps so far (J), and integrals over time. */
struct bw_slip_works {
  double distance;           /**< m */
  double road;               /**< J */
  double machine_brake[2];   /**< J */
  double machine_drive[2];   /**< J */
  double friction[2];        /**< J */
  double tyre[2];            /**< J */
  double shaft[2];           /**< J */
  double angle[2];           /**< rad at the axle, of the machine or the wheels */
  double force[2];           /**< N s */
  double friction_torque[2]; /**< N m s */
};

/** Advance by `step` s. A step in which the car would pass rest, and in which brakes and grip can
 *  hold it, ends at rest: what body and wheels still turn with goes to the tyres as heat. */
void bw_slip_step(const struct bw_case *loaded, const struct bw_slip_torques *torques, double step,
                  struct bw_slip *slip, struct bw_slip_works *works);

#endif
