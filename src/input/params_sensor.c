/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define SENSOR(kind, field)                                                                        \
  (offsetof(struct bw_case, sensors) + offsetof(struct bw_sensors, kind) +                         \
   offsetof(struct bw_sensor, field))
#define MESSAGE(field) (offsetof(struct bw_case, message) + offsetof(struct bw_message, field))
#define SEED(field)    (offsetof(struct bw_case, seed) + offsetof(struct bw_seed, field))

/* longest delay that can be asked for; the history of 254 control periods binds as well */
#define LONGEST_MS 2000.0
/* 2^32 - 1: seeds are keys of 32 bit */
#define LAST_SEED 4294967295.0

static const struct bw_param_row ROWS[] = {
    BW_NUMBER("sensor.speed_resolution_kmh", "km/h", SENSOR(speed, resolution), 0.0, 20.0, 0.0,
              "steps in which the controller reads the speeds of car and wheels; 0: exact"),
    BW_NUMBER("sensor.speed_noise_kmh", "km/h", SENSOR(speed, noise), 0.0, 20.0, 0.0,
              "standard deviation of the same"),
    BW_NUMBER("sensor.speed_delay_ms", "ms", SENSOR(speed, delay), 0.0, LONGEST_MS, 0.0,
              "how late the controller reads them"),
    BW_NUMBER("sensor.pressure_resolution_bar", "bar", SENSOR(pressure, resolution), 0.0, 50.0, 0.0,
              "steps in which the controller reads the brake pressures; 0: exact"),
    BW_NUMBER("sensor.pressure_noise_bar", "bar", SENSOR(pressure, noise), 0.0, 50.0, 0.0,
              "standard deviation of the same"),
    BW_NUMBER("sensor.pressure_delay_ms", "ms", SENSOR(pressure, delay), 0.0, LONGEST_MS, 0.0,
              "how late the controller reads them"),
    BW_NUMBER("sensor.torque_resolution_nm", "N m", SENSOR(torque, resolution), 0.0, 2000.0, 0.0,
              "steps of the inverters' torque estimates, at the axle; 0: exact"),
    BW_NUMBER("sensor.torque_noise_nm", "N m", SENSOR(torque, noise), 0.0, 2000.0, 0.0,
              "standard deviation of the same"),
    BW_NUMBER("sensor.torque_delay_ms", "ms", SENSOR(torque, delay), 0.0, LONGEST_MS, 0.0,
              "how late the controller reads them"),
    BW_NUMBER("message.delay_ms", "ms", MESSAGE(delay), 0.0, LONGEST_MS, 0.0,
              "way of a torque message from the controller to a machine"),
    BW_NUMBER("message.jitter_ms", "ms", MESSAGE(jitter), 0.0, LONGEST_MS, 0.0,
              "more of it by chance, evenly spread from 0 to this"),
    BW_NUMBER("message.loss_share", "", MESSAGE(loss), 0.0, 1.0, 0.0,
              "probability that a message never arrives"),
    BW_NUMBER("message.period_ms", "ms", MESSAGE(period), 0.0, LONGEST_MS, 0.0,
              "time between two messages, a whole multiple of control.period_ms; 0: that"),
    BW_NUMBER("message.timeout_ms", "ms", MESSAGE(timeout), 1.0, 60000.0, 100.0,
              "time without a new message until a machine does as message.reserve says"),
    BW_CHOICE("message.reserve", "hold|ramp-out", BW_STORE_BOOL, MESSAGE(ramps_out), 1, 1,
              "keep the last command, or ramp it to zero"),
    BW_NUMBER("message.ramp_nm_per_s", "N m/s", MESSAGE(ramp), 10.0, 1e6, 4000.0,
              "that ramp, at the axle"),
    BW_NUMBER("random.seed", "", SEED(seed), 0.0, LAST_SEED, 1.0,
              "whole number from which noise, jitter and loss follow"),
    BW_NUMBER("random.run", "", SEED(run), 0.0, LAST_SEED, 0.0,
              "whole number of the repetition: another one, other chances of the same seed"),
};

struct bw_param_rows bw_params_sensor(void) {
  return BW_ROWS(ROWS);
}
