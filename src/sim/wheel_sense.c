/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/wheel_sense.h"

#include "extrema.h"
#include "model/random.h"

#include <math.h>

bool bw_wheel_sense_acts(const struct bw_case *loaded) {
  return loaded->slip.antilock.estimates_speed || bw_sensor_acts(&loaded->sensors.speed);
}

static double read_wheel(const struct bw_case *loaded, struct bw_wheel_sense *sense, int i, int j,
                         double rim) {
  const struct bw_antilock *setup = &loaded->slip.antilock;
  const struct bw_sensor *sensor = &loaded->sensors.speed;
  const double late =
      bw_sense_late(&sense->line[i][j], sense->count, fabs(rim), sensor->delay / setup->period);
  const uint32_t channel = (uint32_t)(BW_RANDOM_ANTILOCK + 2 * i + j);
  const double normal =
      sensor->noise > 0.0 ? bw_random_normal(&loaded->seed, channel, sense->count) : 0.0;
  return bw_max(0.0, bw_sensor_read(sensor, late, normal));
}

static double filter_wheel(const struct bw_antilock *setup, struct bw_wheel_sense *sense, int i,
                           int j, double read) {
  double *calm = &sense->filtered[i][j];
  const double gain = sense->count > 0 ? setup->period / (setup->period + setup->filter) : 1.0;
  *calm = gain < 1.0 ? *calm + gain * (read - *calm) : read;
  return *calm;
}

void bw_wheel_sense_read(const struct bw_case *loaded, struct bw_wheel_sense *sense,
                         struct bw_wheel_view *view) {
  const struct bw_antilock *setup = &loaded->slip.antilock;
  double fastest = 0.0;
  double second = 0.0;
  for (int i = 0; i < 2; i++) {
    for (int j = 0; j < 2; j++) {
      view->rim[i][j] = read_wheel(loaded, sense, i, j, view->rim[i][j]);
      const double calm = filter_wheel(setup, sense, i, j, view->rim[i][j]);
      second = bw_max(second, bw_min(fastest, calm));
      fastest = bw_max(fastest, calm);
    }
  }
  view->speed = fabs(view->speed);
  view->filter = setup->filter;
  if (setup->estimates_speed) {
    const double slowing = bw_max(0.0, view->deceleration);
    const double fall = (slowing + setup->reference_margin) * setup->period;
    /* wheels that slow down with the car come out of the filter by this much too fast */
    const double seen = bw_max(0.0, second - slowing * setup->filter);
    sense->reference = bw_max(seen, sense->count > 0 ? sense->reference - fall : 0.0);
    view->speed = sense->reference;
  }
  sense->count++;
}
