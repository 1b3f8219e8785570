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

struct bw_friction_pace bw_friction_pace(const struct bw_friction *friction, double ambient,
                                         double duration) {
  const double per_capacity = duration / friction->heat_capacity;
  return (struct bw_friction_pace){
      .ambient = ambient,
      .ambient_fourth = bw_fourth_power(ambient),
      .cooled = friction->cooling * per_capacity,
      .cooled_speed = friction->cooling_speed * per_capacity,
      .heated = friction->heat_share * per_capacity,
      .radiated = STEFAN_BOLTZMANN * friction->radiating_area * per_capacity,
  };
}

double bw_friction_heat(const struct bw_friction *friction, double temperature, double power,
                        double speed, double ambient, double duration) {
  const struct bw_friction_pace pace = bw_friction_pace(friction, ambient, duration);
  return bw_friction_warm(&pace, temperature, power, speed);
}
