/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PARK_H
#define BW_PARK_H

#include "model/vehicle.h"

#include <stdbool.h>

/** Parking brake: what clamps discs at rest, and what slope it holds.
 *
 *    T = 2 calipers x 2 faces x mu_s x F x efficiency x r_eff     per axle, F at one caliper
 *    hold: sum over the braked axles of min(T / r, mu N_i) >= m g sin(theta)
 *
 *  with N_i the axle loads at rest on the slope. Rolling resistance is left out. Discs that were
 *  hot when the brake was set shrink as they cool: of the clamp force set, (1 - clamp_loss) stays
 *  unless the brake is set again. Statics; a drum brake is given by the clamp force, radius and
 *  friction that have its torque. */

enum bw_park_axle { BW_PARK_NONE, BW_PARK_FRONT, BW_PARK_REAR, BW_PARK_BOTH };

struct bw_park_brake {
  enum bw_park_axle axle;  /**< BW_PARK_NONE: no data */
  double clamp_force;      /**< N at each caliper, as set */
  double effective_radius; /**< m */
  double friction;         /**< 1, static, pads on disc */
  double efficiency;       /**< 0..1 of the clamp force reaches the pads */
  double clamp_loss;       /**< 0..1, lost while hot discs cool */
  double sensor_range;     /**< N, of the clamp force sensor */
};

/** Torque (N m) of one axle at `clamp` N per caliper. */
double bw_park_torque(const struct bw_park_brake *park, double clamp);

/** Force (N) along the road that holds `vehicle` in its load state on a slope with sine
 *  `sin_slope`: m g |sin(theta)|. */
double bw_park_needed(const struct bw_vehicle *vehicle, double sin_slope);

/** Clamp force (N per caliper) that gives `force` (N) at the road through `axles` braked axles,
 *  (1 - clamp_loss) of which has to be enough: what has to be set while hot. */
double bw_park_clamp(const struct bw_park_brake *park, double tyre_radius, int axles, double force);

/** Greatest force (N) at the road with the brake at `park->axle`, `clamp` N per caliper, at rest on
 *  a slope (sine, positive when the car faces uphill), on a road of `adhesion`. */
double bw_park_holds(const struct bw_park_brake *park, const struct bw_vehicle *vehicle,
                     double clamp, double sin_slope, double adhesion);

/** Steepest slope (tangent) that grip alone allows to hold with axle `park` braked, facing uphill
 *  or downhill, whatever the clamp force:
 *    rear, up  mu a / (L - mu h)      rear, down  mu a / (L + mu h)
 *    front, up mu b / (L + mu h)      front, down mu b / (L - mu h)      both  mu
 *  Statics. */
double bw_park_grip_grade(const struct bw_vehicle *vehicle, enum bw_park_axle park, bool faces_up,
                          double adhesion);

/** Greatest deceleration (m/s2) with the parking brake alone on a level road: `torque` N m on each
 *  braked axle, grip `adhesion`, loads at that deceleration, road load left out. With both axles
 *  braked the grip of the whole car counts, as if neither locked before the other. */
double bw_park_deceleration(const struct bw_vehicle *vehicle, enum bw_park_axle park,
                            const double torque[2], double adhesion);

#endif
