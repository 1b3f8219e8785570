/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction.h"

#include "model/decay.h"

/* W/(m2 K4); exact since the SI of 2019 (CODATA 2018) */
static const double STEFAN_BOLTZMANN = 5.670374419e-8;

double bw_friction_gain(const struct bw_friction *friction, double temperature) {
  const double nominal = friction->per_pressure * friction->pad_scale;
  if (friction->pad.n == 0) {
    return nominal;
  }
  return nominal * bw_table1_at(&friction->pad, temperature) / friction->pad_nominal;
}

static double fourth_power(double x) {
  const double square = x * x;
  return square * square;
}

double bw_friction_heat(const struct bw_friction *friction, double temperature, double power,
                        double speed, double ambient, double duration) {
  const double conductance = friction->cooling + friction->cooling_speed * speed;
  const double per_capacity = duration / friction->heat_capacity;
  const double x = conductance * per_capacity;
  const double mean = bw_decay_mean(x);
  const double radiated = STEFAN_BOLTZMANN * friction->radiating_area *
                          (fourth_power(temperature) - fourth_power(ambient));
  const double net = friction->heat_share * power - radiated;
  /* T1 = Ta + (T - Ta) exp(-x) + net/G (1 - exp(-x)), written without dividing by G */
  return temperature + mean * (net * per_capacity - x * (temperature - ambient));
}
