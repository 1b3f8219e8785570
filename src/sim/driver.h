/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DRIVER_H
#define BW_DRIVER_H

#include "extrema.h"
#include "input/case.h"

#include <math.h>

/** The driver: what force the trace or manoeuvre asks for.
 *
 *    F = m_eff a_ref + F_road(v_ref) + m g sin(theta) + m_eff (kp e + ki integral of e)
 *    e = v_ref - v,   D = max(0, -F)
 *
 *  Manoeuvres: D = m_eff a (`brake`) or max(0, m_eff a - F_road - m g sin(theta)) (`vehicle`).
 *  The integral stands still while the car cannot do more (anti-windup) and is zero at rest. */
struct bw_driver_state {
  double integral;   /**< m */
  bool is_saturated; /**< last period's demand could not be met */
};

/** What the driver sees. Accelerations are those of the middle of the period, because the demand
 *  is held over it. */
struct bw_driver_view {
  double reference_speed;        /**< m/s; unused by manoeuvres */
  double reference_next;         /**< m/s at the end of the period */
  double reference_acceleration; /**< m/s2 */
  double demand;                 /**< manoeuvres: m/s2 or pedal 0..1 */
  double speed;                  /**< m/s */
  double sin_slope;
  double drive_max; /**< N, greatest driving force now */
  double brake_max; /**< N, greatest braking force now */
};

/** Force demands (N, each >= 0, never both positive). */
struct bw_driver_demand {
  double drive;
  double brake;
};

/** Demand of a speed trace for one control period; asked in every period of a cycle. */
static inline struct bw_driver_demand bw_driver_follow(const struct bw_case *loaded,
                                                       double effective_mass,
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

/** Demand of a manoeuvre, eased in the last metre by a soft stop where the case has one. */
struct bw_driver_demand bw_driver_manoeuvre(const struct bw_case *loaded, double effective_mass,
                                            const struct bw_driver_view *view);

/** Retarding force (N) that the overrun calibration asks for at `speed` (m/s). */
static inline double bw_driver_overrun(const struct bw_overrun *overrun, double effective_mass,
                                       double speed) {
  if (speed <= overrun->fade_zero) {
    return 0.0;
  }
  const double full = effective_mass * overrun->deceleration;
  if (speed >= overrun->fade_full) {
    return full;
  }
  return full * (speed - overrun->fade_zero) / (overrun->fade_full - overrun->fade_zero);
}

#endif
