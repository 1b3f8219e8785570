/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DRIVELINE_H
#define BW_DRIVELINE_H

#include <math.h>

/** Shaft between machine and wheels of one axle, all of it seen at the axle.
 *
 *    twist phi = machine angle / ratio - wheel angle
 *    torque on the wheels  T = dV/dphi + c dphi/dt (c only where the flanks touch)
 *    V = k/2 max(0, |phi| - lash/2)^2
 *  Over a time step the elastic part is the potential difference over the twist made, so that work
 *  and stored energy agree to rounding, lash included. */
struct bw_driveline {
  double stiffness; /**< N m/rad at the axle, 0: rigid */
  double damping;   /**< N m s/rad */
  double lash;      /**< rad, free play between the flanks */
};

/** Twist beyond the free play, rad, with the sign of the side that touches. */
static inline double bw_driveline_wound(const struct bw_driveline *line, double twist) {
  const double half = 0.5 * line->lash;
  return twist > half ? twist - half : (twist < -half ? twist + half : 0.0);
}

/** Stored energy V, J. */
static inline double bw_driveline_stored(const struct bw_driveline *line, double twist) {
  const double wound = bw_driveline_wound(line, twist);
  return 0.5 * line->stiffness * wound * wound;
}

/** Mean elastic torque (N m) on the way from twist `from` to `to`:
 *  [V(to) - V(from)]/(to - from), without cancellation. */
double bw_driveline_mean(const struct bw_driveline *line, double from, double to);

/** Share of the way from twist `from` to `to` on which a flank touches, 0..1. */
double bw_driveline_contact(const struct bw_driveline *line, double from, double to);

#endif
