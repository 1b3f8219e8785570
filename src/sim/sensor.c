/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sensor.h"

#include "extrema.h"
#include "model/random.h"

#include <math.h>

/* m/s; the slip of noisy speeds is taken against no less than this */
static const double SLIP_SPEED = 1.0;

double bw_sense_late(struct bw_sense_line *line, uint64_t count, double value, double periods) {
  line->past[count % BW_SENSE_PERIODS] = value;
  const double back = bw_min(periods, (double)count);
  const uint64_t whole = (uint64_t)back;
  const double rest = back - (double)whole;
  const double newer = line->past[(count - whole) % BW_SENSE_PERIODS];
  if (!(rest > 0.0)) {
    return newer;
  }
  const double older = line->past[(count - whole - 1) % BW_SENSE_PERIODS];
  return newer + rest * (older - newer);
}

/* reading of one signal; signals and channels of chance are numbered alike */
static double read_one(const struct bw_case *loaded, const struct bw_sensor *sensor, int signal,
                       double value, struct bw_sense *sense) {
  const double late = bw_sense_late(&sense->line[signal], sense->count, value,
                                    sensor->delay / loaded->control_period);
  const double normal =
      sensor->noise > 0.0 ? bw_random_normal(&loaded->seed, (uint32_t)signal, sense->count) : 0.0;
  return bw_sensor_read(sensor, late, normal);
}

static void read_speeds(const struct bw_case *loaded, const struct bw_sample_truth *truth,
                        struct bw_sense *sense, struct bw_blend_input *input) {
  const struct bw_sensor *sensor = &loaded->sensors.speed;
  input->speed = bw_max(0.0, read_one(loaded, sensor, BW_SENSE_SPEED, truth->speed, sense));
  for (int i = 0; i < 2; i++) {
    const double rim =
        bw_max(0.0, read_one(loaded, sensor, BW_SENSE_WHEEL + i, truth->rim[i], sense));
    input->slip[i] = (input->speed - rim) / bw_max(SLIP_SPEED, bw_max(input->speed, rim));
  }
}

void bw_sense_read(const struct bw_case *loaded, const struct bw_sample_truth *truth,
                   struct bw_sense *sense, struct bw_blend_input *input) {
  const struct bw_sensors *sensors = &loaded->sensors;
  if (bw_sensor_acts(&sensors->speed)) {
    read_speeds(loaded, truth, sense, input);
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    if (bw_sensor_acts(&sensors->pressure)) {
      const double pressure =
          read_one(loaded, &sensors->pressure, BW_SENSE_PRESSURE + i, truth->pressure[i], sense);
      input->friction_estimate[i] =
          bw_max(0.0, pressure - friction->threshold) * friction->per_pressure;
    }
    if (bw_sensor_acts(&sensors->torque) && loaded->machine[i].is_fitted) {
      input->machine_estimate[i] =
          read_one(loaded, &sensors->torque, BW_SENSE_TORQUE + i, truth->machine[i], sense);
    }
  }
  sense->count++;
}
