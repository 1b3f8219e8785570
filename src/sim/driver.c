/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/driver.h"

#include "extrema.h"

#include <math.h>

struct bw_driver_demand bw_driver_follow(const struct bw_case *loaded, double effective_mass,
                                         const struct bw_driver_view *view,
                                         struct bw_driver_state *state) {
  const struct bw_driver *driver = &loaded->driver;
  const double error = view->reference_speed - view->speed;
  const bool is_rest = view->speed <= 0.0 && view->reference_next <= 0.0;
  if (is_rest) {
    state->integral = 0.0;
  } else if (!state->is_saturated) {
    state->integral += error * loaded->control_period;
  }
  const double mass = loaded->vehicle.load[loaded->vehicle.load_state].mass;
  const double grade = mass * BW_GRAVITY * view->sin_slope;
  double force = effective_mass * (view->reference_acceleration + driver->gain * error +
                                   driver->integral_gain * state->integral) +
                 bw_vehicle_road_load(&loaded->vehicle, view->reference_speed) + grade;
  if (is_rest) {
    force = -bw_max(effective_mass * driver->hold_deceleration, fabs(grade));
  } else if (view->reference_next <= 0.0) {
    /* the trace stands and the car still rolls: nobody creeps to rest asymptotically */
    force = bw_min(force, -effective_mass * driver->stop_deceleration);
  }
  const struct bw_driver_demand demand = {.drive = bw_max(0.0, force),
                                          .brake = bw_max(0.0, -force)};
  state->is_saturated = (demand.drive > view->drive_max && error > 0.0) ||
                        (demand.brake > view->brake_max && error < 0.0);
  return demand;
}

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

double bw_driver_overrun(const struct bw_overrun *overrun, double effective_mass, double speed) {
  if (speed <= overrun->fade_zero) {
    return 0.0;
  }
  const double full = effective_mass * overrun->deceleration;
  if (speed >= overrun->fade_full) {
    return full;
  }
  return full * (speed - overrun->fade_zero) / (overrun->fade_full - overrun->fade_zero);
}
