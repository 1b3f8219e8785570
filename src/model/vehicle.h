/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_VEHICLE_H
#define BW_VEHICLE_H

#include <math.h>

/** Vehicle body, road load and axle loads.
 *
 *    m_eff dv/dt = F_drive - F_brake,front - F_brake,rear - F_road(v) - m g sin(theta)
 *    F_road = f0 + f1 v + f2 v^2
 *    N_f = m [g b cos(theta) + h (a_dec - g sin(theta))] / L,   N_r = m g cos(theta) - N_f
 *
 *  a, b: distances of the centre of gravity from front and rear axle, L = a + b, h its height,
 *  theta the road's slope, positive uphill, a_dec the deceleration. Statics; sign convention of
 *  ISO 8855 with x forward, brake quantities positive when they retard. */

/** N/kg; the value used by the braking rules read (EU 2015/68 Annex II App. 1). */
#define BW_GRAVITY 9.81

enum { BW_LOAD_STATES = 2 };
enum bw_load_state { BW_LOAD_UNLADEN, BW_LOAD_LADEN };

/** One load state. */
struct bw_load {
  double mass;        /**< kg */
  double cg_to_front; /**< m, centre of gravity behind the front axle */
  double cg_height;   /**< m above the road */
};

struct bw_vehicle {
  struct bw_load load[BW_LOAD_STATES];
  enum bw_load_state load_state; /**< the one the run uses */
  double wheelbase;              /**< m */
  double tyre_radius;            /**< m, dynamic */
  double wheel_inertia[2];       /**< kg m2 per axle, both wheels with their discs */
  double slip_stiffness;         /**< 1, brake force over load per unit of slip, near zero slip */
  double adhesion;               /**< 1, greatest |F|/N of the road surface */
  double road_f0;                /**< N */
  double road_f1;                /**< N s/m */
  double road_f2;                /**< N s2/m2 */
};

/** Axle loads (N) on a slope with sine `sin_slope` at deceleration `deceleration` (m/s2). */
static inline void bw_vehicle_axle_loads(const struct bw_vehicle *vehicle, double sin_slope,
                                         double deceleration, double load[2]) {
  const struct bw_load *now = &vehicle->load[vehicle->load_state];
  const double cos_slope = sqrt(1.0 - sin_slope * sin_slope);
  const double cg_to_rear = vehicle->wheelbase - now->cg_to_front;
  const double front = now->mass *
                       (BW_GRAVITY * cg_to_rear * cos_slope +
                        now->cg_height * (deceleration - BW_GRAVITY * sin_slope)) /
                       vehicle->wheelbase;
  load[0] = front;
  load[1] = now->mass * BW_GRAVITY * cos_slope - front;
}

/** Road load (N) at `speed` (m/s, >= 0). */
double bw_vehicle_road_load(const struct bw_vehicle *vehicle, double speed);

#endif
