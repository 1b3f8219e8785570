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

/** Share of the weight that an axle about to lift keeps in the slip formula, where its own load
 *  would be divided by; its adhesion is reported as exceeded long before. */
#define BW_LIFTED_LOAD_SHARE 0.05

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

/** What the axle loads of a load state follow from, prepared once. */
struct bw_statics {
  double weight; /**< N */
  double front;  /**< N, load of the front axle at rest on the level */
  double shift;  /**< kg, load moved to the front axle per deceleration, m h/L */
};

static inline struct bw_statics bw_vehicle_statics(const struct bw_vehicle *vehicle) {
  const struct bw_load *now = &vehicle->load[vehicle->load_state];
  const double per_wheelbase = now->mass / vehicle->wheelbase;
  return (struct bw_statics){
      .weight = now->mass * BW_GRAVITY,
      .front = per_wheelbase * BW_GRAVITY * (vehicle->wheelbase - now->cg_to_front),
      .shift = per_wheelbase * now->cg_height,
  };
}

/** Axle loads (N) on a slope with sine `sin_slope` at deceleration `deceleration` (m/s2). */
static inline void bw_statics_loads(const struct bw_statics *statics, double sin_slope,
                                    double deceleration, double load[2]) {
  const double cos_slope = sqrt(1.0 - sin_slope * sin_slope);
  const double front =
      statics->front * cos_slope + statics->shift * (deceleration - BW_GRAVITY * sin_slope);
  load[0] = front;
  load[1] = statics->weight * cos_slope - front;
}

/** The same, for who asks once. */
static inline void bw_vehicle_axle_loads(const struct bw_vehicle *vehicle, double sin_slope,
                                         double deceleration, double load[2]) {
  const struct bw_statics statics = bw_vehicle_statics(vehicle);
  bw_statics_loads(&statics, sin_slope, deceleration, load);
}

/** Road load (N) at `speed` (m/s, >= 0). */
double bw_vehicle_road_load(const struct bw_vehicle *vehicle, double speed);

#endif
