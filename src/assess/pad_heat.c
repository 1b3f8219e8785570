/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/pad_heat.h"

#include "extrema.h"

#include <math.h>

struct bw_pad_heat bw_pad_heat_start(const struct bw_case *loaded) {
  struct bw_pad_heat heat = {{0.0, 0.0}, {0.0, 0.0}};
  for (int i = 0; i < 2; i++) {
    heat.temperature[i] = heat.peak[i] = loaded->brakes.axle[i].start_temperature;
  }
  return heat;
}

double bw_pad_heat_step(const struct bw_friction *friction, double pad, double rotor, double power,
                        double ambient, double duration) {
  if (!(friction->pad_heat_capacity > 0.0)) {
    return rotor;
  }
  const double conductance = friction->pad_contact + friction->pad_cooling;
  const double per_capacity = duration / friction->pad_heat_capacity;
  const double net = (1.0 - friction->heat_share) * power + friction->pad_contact * (rotor - pad) -
                     friction->pad_cooling * (pad - ambient);
  const double x = conductance * per_capacity;
  /* (1 - exp(-x))/x, whole for x = 0 */
  const double mean = x > 0.0 ? -expm1(-x) / x : 1.0;
  return pad + net * per_capacity * mean;
}

void bw_pad_heat_watch(const struct bw_case *loaded, const struct bw_sample *sample,
                       struct bw_pad_heat *heat) {
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    const double power = sample->duration > 0.0 ? axle->friction_work / sample->duration : 0.0;
    heat->temperature[i] =
        bw_pad_heat_step(&loaded->brakes.axle[i], heat->temperature[i], axle->rotor_temperature,
                         power, loaded->ambient_temperature, sample->duration);
    heat->peak[i] = bw_max(heat->peak[i], heat->temperature[i]);
  }
}
