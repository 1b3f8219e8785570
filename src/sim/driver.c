/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/driver.h"

#include "extrema.h"

#include <math.h>

/* what a soft stop leaves of a braking force (N): the part that holds the car on the grade stays,
 * and at rest all of it holds */
static double soften(const struct bw_driver *driver, double force, double holding, double speed) {
  if (!(speed > 0.0 && speed < driver->soft_stop_speed && force > holding)) {
    return force;
  }
  const double left =
      driver->soft_stop_share + (1.0 - driver->soft_stop_share) * speed / driver->soft_stop_speed;
  return holding + left * (force - holding);
}

struct bw_driver_demand bw_driver_manoeuvre(const struct bw_case *loaded, double effective_mass,
                                            const struct bw_driver_view *view) {
  double deceleration = view->demand;
  if (loaded->trace.kind == BW_TRACE_PEDAL) {
    deceleration *= loaded->driver.pedal_full_deceleration;
  }
  const double mass = loaded->vehicle.load[loaded->vehicle.load_state].mass;
  const double grade = mass * BW_GRAVITY * view->sin_slope;
  double force = effective_mass * deceleration;
  if (loaded->driver.decel_means == BW_DECEL_VEHICLE && deceleration > 0.0) {
    force -= bw_vehicle_road_load(&loaded->vehicle, view->speed) + grade;
  }
  force = soften(&loaded->driver, force, fabs(grade), view->speed);
  return (struct bw_driver_demand){.drive = 0.0, .brake = bw_max(0.0, force)};
}
