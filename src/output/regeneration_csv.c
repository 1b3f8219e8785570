/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/regeneration_csv.h"

#include "extrema.h"
#include "output/csv_write.h"
#include "sim/limits.h"

#include <math.h>

static const double KMH_PER_MPS = 3.6;
static const double WATTS_PER_KW = 1e3;
static const double SPEED_STEP_KMH = 2.0;
static const double CHARGE_STEP_PERCENT = 2.5;

/* below this share of what a machine allows alone both of them share the battery */
static const double SHARED_BELOW = 1.0 - 1e-9;

/* km/h, multiple of the step at or above the top shaft speed of every machine; 0 without one */
static double top_speed(const struct bw_case *loaded, const struct bw_limits_rule *rule) {
  double top = 0.0;
  for (int i = 0; i < 2; i++) {
    if (loaded->machine[i].is_fitted) {
      top = bw_max(top, loaded->machine[i].omega_max / rule->omega_per_speed[i]);
    }
  }
  return ceil(top * KMH_PER_MPS / SPEED_STEP_KMH) * SPEED_STEP_KMH;
}

static enum bw_limit binding_of(const struct bw_limits *limits) {
  const int axle = limits->joint[1] > limits->joint[0] ? 1 : 0;
  return limits->joint[axle] < SHARED_BELOW * limits->alone[axle] ? limits->charge_binding
                                                                  : limits->binding[axle];
}

static void put_row(struct bw_csv_row *csv, const struct bw_case *loaded,
                    const struct bw_limits *limits, double speed_kmh, double charge_percent) {
  const double torque = limits->joint[0] + limits->joint[1];
  const double omega = speed_kmh / KMH_PER_MPS / loaded->vehicle.tyre_radius;
  bw_csv_put_sample(csv, speed_kmh);
  bw_csv_put_sample(csv, charge_percent);
  bw_csv_put_sample(csv, limits->joint[0]);
  bw_csv_put_sample(csv, limits->joint[1]);
  bw_csv_put_sample(csv, torque * omega / WATTS_PER_KW);
  bw_csv_put_text(csv, bw_limit_text(binding_of(limits)));
  bw_csv_end_row(csv);
}

bool bw_write_regeneration_csv(const struct bw_case *loaded, FILE *stream) {
  static const char *const columns[] = {"speed_kmh",      "soc_percent",   "torque_front_nm",
                                        "torque_rear_nm", "axle_power_kw", "limited_by"};
  struct bw_csv_row csv = {.stream = stream};
  for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
    bw_csv_put_text(&csv, columns[i]);
  }
  bw_csv_end_row(&csv);
  const struct bw_limits_rule rule = bw_limits_rule(loaded);
  const int speeds = (int)(top_speed(loaded, &rule) / SPEED_STEP_KMH);
  const int charges = (int)(100.0 / CHARGE_STEP_PERCENT);
  struct bw_battery battery = loaded->battery;
  for (int k = 0; k <= charges && speeds > 0; k++) {
    battery.start_charge = k * CHARGE_STEP_PERCENT / 100.0;
    const struct bw_battery_state state = bw_battery_start(&battery);
    for (int i = 0; i <= speeds; i++) {
      struct bw_limits limits = {0};
      const struct bw_limits_input input = {
          .speed = i * SPEED_STEP_KMH / KMH_PER_MPS,
          .machine_temperature = {loaded->machine[0].start_temperature,
                                  loaded->machine[1].start_temperature},
          .battery = &state,
      };
      bw_limits_find_by(loaded, &rule, &input, &limits);
      put_row(&csv, loaded, &limits, i * SPEED_STEP_KMH, k * CHARGE_STEP_PERCENT);
    }
  }
  return !csv.has_failed;
}
