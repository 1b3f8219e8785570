/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction.h"

/* W/(m2 K4); exact since the SI of 2019 (CODATA 2018) */
static const double STEFAN_BOLTZMANN = 5.670374419e-8;

double bw_friction_gain(const struct bw_friction *friction, double temperature) {
  const double nominal = friction->per_pressure * friction->pad_scale;
  if (friction->pad.n == 0) {
    return nominal;
  }
  return nominal * bw_table1_at(&friction->pad, temperature) / friction->pad_nominal;
}

void bw_friction_pace(const struct bw_friction *friction, double ambient, double duration, int axle,
                      struct bw_friction_pace *pace) {
  const double per_capacity = duration / friction->heat_capacity;
  pace->ambient = ambient;
  pace->ambient_fourth = bw_fourth_power(ambient);
  pace->cooled[axle] = friction->cooling * per_capacity;
  pace->cooled_speed[axle] = friction->cooling_speed * per_capacity;
  pace->heated[axle] = friction->heat_share * per_capacity;
  pace->radiated[axle] = STEFAN_BOLTZMANN * friction->radiating_area * per_capacity;
}

double bw_friction_heat(const struct bw_friction *friction, double temperature, double power,
                        double speed, double ambient, double duration) {
  struct bw_friction_pace pace = {0}; /* the other axle has no brakes */
  bw_friction_pace(friction, ambient, duration, 0, &pace);
  double warmed[2] = {temperature, ambient};
  bw_friction_warm(&pace, warmed, (const double[2]){power, 0.0}, speed);
  return warmed[0];
}
