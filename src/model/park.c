/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/park.h"

#include "extrema.h"

static const double CALIPERS = 2.0; /* per axle */
static const double FACES = 2.0;    /* of a disc */

static bool is_braked(enum bw_park_axle park, int i) {
  return park == BW_PARK_BOTH || park == (i == 0 ? BW_PARK_FRONT : BW_PARK_REAR);
}

double bw_park_torque(const struct bw_park_brake *park, double clamp) {
  return CALIPERS * FACES * park->friction * clamp * park->efficiency * park->effective_radius;
}

double bw_park_needed(const struct bw_vehicle *vehicle, double sin_slope) {
  return vehicle->load[vehicle->load_state].mass * BW_GRAVITY * fabs(sin_slope);
}

double bw_park_clamp(const struct bw_park_brake *park, double tyre_radius, int axles,
                     double force) {
  const double per_newton = bw_park_torque(park, 1.0) * (double)axles * (1.0 - park->clamp_loss);
  return force * tyre_radius / per_newton;
}

double bw_park_holds(const struct bw_park_brake *park, const struct bw_vehicle *vehicle,
                     double clamp, double sin_slope, double adhesion) {
  double load[2];
  bw_vehicle_axle_loads(vehicle, sin_slope, 0.0, load);
  const double brake = bw_park_torque(park, clamp) / vehicle->tyre_radius;
  double held = 0.0;
  for (int i = 0; i < 2; i++) {
    if (is_braked(park->axle, i)) {
      held += bw_min(brake, adhesion * bw_max(0.0, load[i]));
    }
  }
  return held;
}

double bw_park_grip_grade(const struct bw_vehicle *vehicle, enum bw_park_axle park, bool faces_up,
                          double adhesion) {
  const struct bw_load *load = &vehicle->load[vehicle->load_state];
  const double arm = adhesion * load->cg_height;
  if (park == BW_PARK_BOTH) {
    return adhesion;
  }
  if (park == BW_PARK_NONE) {
    return 0.0;
  }
  /* the axle that stands lower gets load from the other */
  const bool is_lower = (park == BW_PARK_REAR) == faces_up;
  const double lever =
      park == BW_PARK_REAR ? load->cg_to_front : vehicle->wheelbase - load->cg_to_front;
  const double base = vehicle->wheelbase + (is_lower ? -arm : arm);
  /* an axle that carries all of the car with grip to spare is held by that grip */
  return base > lever ? adhesion * lever / base : adhesion;
}

double bw_park_deceleration(const struct bw_vehicle *vehicle, enum bw_park_axle park,
                            const double torque[2], double adhesion) {
  const struct bw_load *load = &vehicle->load[vehicle->load_state];
  const double per_mass = 1.0 / load->mass;
  double total = 0.0;
  for (int i = 0; i < 2; i++) {
    if (is_braked(park, i)) {
      total += torque[i] / vehicle->tyre_radius * per_mass;
    }
  }
  if (park == BW_PARK_BOTH) {
    return bw_min(total, adhesion * BW_GRAVITY);
  }
  const double arm = adhesion * load->cg_height;
  const double ahead = vehicle->wheelbase - load->cg_to_front;
  const double grip = park == BW_PARK_FRONT
                          ? adhesion * BW_GRAVITY * ahead / (vehicle->wheelbase - arm)
                          : adhesion * BW_GRAVITY * load->cg_to_front / (vehicle->wheelbase + arm);
  return bw_min(total, grip);
}
