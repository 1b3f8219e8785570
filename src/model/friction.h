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

/** What the heating of both axles' rotors over steps of one length follows from, prepared once;
 *  side by side, so that the two are worked out at once. */
struct bw_friction_pace {
  double ambient;         /**< K */
  double ambient_fourth;  /**< K4 */
  double cooled[2];       /**< 1, share lost per step at rest */
  double cooled_speed[2]; /**< s/m, the same per speed */
  double heated[2];       /**< K/W */
  double radiated[2];     /**< K/K4 */
};

/** Fill in `axle` (0 or 1) of *pace: `ambient` K, the same for both axles; `duration` s a step. */
void bw_friction_pace(const struct bw_friction *friction, double ambient, double duration, int axle,
                      struct bw_friction_pace *pace);

/** x^4. */
static inline double bw_fourth_power(double x) {
  const double square = x * x;
  return square * square;
}

/** Rotor temperatures (K) of both axles, advanced by one step at friction power `power` (W) and
 *  speed (m/s). */
static inline void bw_friction_warm(const struct bw_friction_pace *restrict pace,
                                    double temperature[restrict 2], const double power[restrict 2],
                                    double speed) {
  double x[2];
  double mean[2];
  for (int i = 0; i < 2; i++) {
    x[i] = pace->cooled[i] + pace->cooled_speed[i] * speed;
    mean[i] = bw_decay_series(x[i]);
  }
  if (!(x[0] < BW_DECAY_SERIES_END && x[1] < BW_DECAY_SERIES_END)) {
    mean[0] = bw_decay_mean(x[0]);
    mean[1] = bw_decay_mean(x[1]);
  }
  for (int i = 0; i < 2; i++) {
    const double radiated =
        pace->radiated[i] * (bw_fourth_power(temperature[i]) - pace->ambient_fourth);
    const double net = pace->heated[i] * power[i] - radiated;
    /* T1 = Ta + (T - Ta) exp(-x) + net/G (1 - exp(-x)), written without dividing by G */
    temperature[i] += mean[i] * (net - x[i] * (temperature[i] - pace->ambient));
  }
}

/** Rotor temperature (K) after `duration` s at friction power `power` (W) and speed (m/s); exact
 *  for the linear part, radiation taken at the start of the step. */
double bw_friction_heat(const struct bw_friction *friction, double temperature, double power,
                        double speed, double ambient, double duration);

#endif
