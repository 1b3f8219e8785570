/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/hydraulics.h"

#include <math.h>

/* Newton steps; V is concave, so that from the left they never overshoot */
enum { NEWTON_MOST = 60 };

/* of the volume sought */
static const double VOLUME_TOLERANCE = 1e-14;

double bw_hydraulics_volume(const struct bw_hydraulics *hydraulics, double pressure) {
  return hydraulics->soft_volume * -expm1(-pressure / hydraulics->soft_pressure) +
         hydraulics->elasticity * pressure;
}

double bw_hydraulics_pressure(const struct bw_hydraulics *hydraulics, double volume) {
  double pressure = 0.0;
  for (int i = 0; i < NEWTON_MOST && volume > 0.0; i++) {
    const double missing = volume - bw_hydraulics_volume(hydraulics, pressure);
    const double per_pressure = hydraulics->soft_volume / hydraulics->soft_pressure *
                                    exp(-pressure / hydraulics->soft_pressure) +
                                hydraulics->elasticity;
    pressure += missing / per_pressure;
    if (fabs(missing) <= VOLUME_TOLERANCE * volume) {
      break;
    }
  }
  return pressure;
}

double bw_hydraulics_follow(const struct bw_hydraulics *hydraulics, double from, double wanted,
                            double step) {
  if (!(hydraulics->flow > 0.0)) {
    return wanted;
  }
  const double held = bw_hydraulics_volume(hydraulics, from);
  const double room = hydraulics->flow * step;
  const double change = bw_hydraulics_volume(hydraulics, wanted) - held;
  if (fabs(change) <= room) {
    return wanted;
  }
  return bw_hydraulics_pressure(hydraulics, fmax(0.0, change > 0.0 ? held + room : held - room));
}

double bw_hydraulics_felt(const struct bw_hydraulics *hydraulics, double felt, double pressure) {
  const double half = 0.5 * hydraulics->hysteresis;
  return fmax(0.0, fmin(fmax(felt, pressure - half), pressure + half));
}

double bw_hydraulics_line_delay(const struct bw_hydraulics *hydraulics, double bulk_modulus,
                                double density) {
  return hydraulics->line_length / sqrt(bulk_modulus / density);
}
