/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/signal.h"

#include <math.h>

double bw_sensor_read(const struct bw_sensor *sensor, double late, double normal) {
  const double noisy = sensor->noise > 0.0 ? late + sensor->noise * normal : late;
  return sensor->resolution > 0.0 ? sensor->resolution * round(noisy / sensor->resolution) : noisy;
}
