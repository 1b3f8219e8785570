/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FRICTION_H
#define BW_FRICTION_H

#include "model/decay.h"
#include "model/table.h"
#include "strategies/blend.h"

#include <stdbool.h>

/** Friction brakes of one axle: pressure path and heat.
 *
 *  Command -> dead time -> dp/dt = clip((u - p) / lag, -release, +build)
 *  -> torque = max(0, p - p0) x torque per pressure x pad friction(T) / nominal.
 *  Rotors of the axle, one node: C dT/dt = share x power - (h0 + h1 v)(T - Ta)
 *  - emissivity x Stefan-Boltzmann x area (T^4 - Ta^4). */
struct bw_friction {
  double per_pressure;      /**< N m/Pa at the axle at nominal pad friction */
  double threshold;         /**< Pa, p0 */
  double pressure_max;      /**< Pa */
  double dead_time;         /**< s, bus and hydraulics together */
  double lag;               /**< s */
  double build;             /**< Pa/s */
  double release;           /**< Pa/s */
  double pad_nominal;       /**< 1, pad friction coefficient the controller believes in */
  double pad_scale;         /**< 1, real over table friction; 1 = nominal pads */
  struct bw_table1 pad;     /**< pad friction over rotor temperature K; empty: nominal */
  double heat_capacity;     /**< J/K, both rotors */
  double cooling;           /**< W/K at rest */
  double cooling_speed;     /**< W/K per m/s */
  double radiating_area;    /**< m2 x emissivity, both rotors */
  double heat_share;        /**< 0..1 of the friction heat that enters the rotors */
  double start_temperature; /**< K */
  double pad_heat_capacity; /**< J/K, all pads of the axle; what follows is read by the assessment
                                 alone (assess/pad_heat.h) */
  double pad_contact;       /**< W/K between rotors and pads */
  double pad_cooling;       /**< W/K from the pads to the air */
};

struct bw_brakes {
  struct bw_friction axle[2];
  enum bw_blend_layout layout;
  double parallel_ratio; /**< rho: nominal machine over friction share of the pedal */
  bool is_prefilled;     /**< while braking is demanded pressure rests at the threshold */
};

/** Actual torque per pressure (N m/Pa) at rotor temperature `temperature` (K). */
double bw_friction_gain(const struct bw_friction *friction, double temperature);

/** What the heating of a rotor over steps of one length follows from, prepared once. */
struct bw_friction_pace {
  double ambient;        /**< K */
  double ambient_fourth; /**< K4 */
  double cooled;         /**< 1, share lost per step at rest */
  double cooled_speed;   /**< s/m, the same per speed */
  double heated;         /**< K/W */
  double radiated;       /**< K/K4 */
};

struct bw_friction_pace bw_friction_pace(const struct bw_friction *friction, double ambient,
                                         double duration);

/** x^4. */
static inline double bw_fourth_power(double x) {
  const double square = x * x;
  return square * square;
}

/** Rotor temperature (K) one step on at friction power `power` (W) and speed (m/s). */
static inline double bw_friction_warm(const struct bw_friction_pace *pace, double temperature,
                                      double power, double speed) {
  const double x = pace->cooled + pace->cooled_speed * speed;
  const double radiated = pace->radiated * (bw_fourth_power(temperature) - pace->ambient_fourth);
  const double net = pace->heated * power - radiated;
  /* T1 = Ta + (T - Ta) exp(-x) + net/G (1 - exp(-x)), written without dividing by G */
  return temperature + bw_decay_mean(x) * (net - x * (temperature - pace->ambient));
}

/** Rotor temperature (K) after `duration` s at friction power `power` (W) and speed (m/s); exact
 *  for the linear part, radiation taken at the start of the step. */
double bw_friction_heat(const struct bw_friction *friction, double temperature, double power,
                        double speed, double ambient, double duration);

#endif
