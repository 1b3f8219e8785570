/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_KINEMATIC_H
#define BW_KINEMATIC_H

#include "assess/period.h"

/** Independent check of one braking event from what a logger would have written - speeds, mean
 *  torques and slope - and nothing of the simulator's own works:
 *
 *    half m_eff (v0^2 - v1^2) - m g (height gained) - road-load work = brake work - drive work
 *
 *  Speed is taken as straight within a period, so that the distance is the trapezoid and the
 *  integrals of v^2 and v^3 are closed forms; work of a torque = mean torque / r x distance. The
 *  period in which the car comes to rest is left out, because its speed is not straight.
 *  In the fidelity `slip` the body alone is checked, because wheels and shafts keep energy of their
 *  own: half m (v0^2 - v1^2) - m g (height) - road-load work = contact forces x distance.
 *  Residual: difference over brake work. */
struct bw_kinematic {
  const struct bw_judge *judge;
  double speed_start; /**< m/s */
  double speed_end;
  double height; /**< m gained */
  double road;   /**< J */
  double brake;  /**< J */
  double drive;  /**< J */
};

/** J; events with less brake work are not judged. */
#define BW_KINEMATIC_LEAST 5e3

struct bw_kinematic bw_kinematic_start(const struct bw_judge *judge, double speed);
void bw_kinematic_watch(struct bw_kinematic *check, const struct bw_sample *sample);

/** Relative residual so far, >= 0; NaN below BW_KINEMATIC_LEAST of brake work. */
double bw_kinematic_residual(const struct bw_kinematic *check);

#endif
