/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/descent_csv.h"

#include "output/csv_write.h"

#include <math.h>

static const double KMH_PER_MPS = 3.6;
static const double ZERO_CELSIUS = 273.15;
static const double KILO = 1e3;

static void put_point(struct bw_csv_row *csv, const struct bw_descent *descent,
                      const struct bw_descent_point *point) {
  static const char *const charge[] = {"full", "own", "none"};
  bw_csv_put_text(csv, descent->strategy->name);
  bw_csv_put_text(csv, descent->profile);
  bw_csv_put_text(csv, descent->load == BW_LOAD_LADEN ? "laden" : "unladen");
  bw_csv_put_text(csv, charge[descent->charge]);
  bw_csv_put_number(csv, point->distance);
  bw_csv_put_number(csv, point->time);
  bw_csv_put_number(csv, point->speed * KMH_PER_MPS);
  bw_csv_put_number(csv, 100.0 * point->sine / sqrt(1.0 - point->sine * point->sine));
  bw_csv_put_number(csv, 100.0 * point->charge);
  bw_csv_put_number(csv, point->charge_power / KILO);
  bw_csv_put_number(csv, point->battery_power / KILO);
  bw_csv_put_number(csv, point->machine_power / KILO);
  bw_csv_put_number(csv, point->friction_power / KILO);
  for (int i = 0; i < 2; i++) {
    bw_csv_put_number(csv, point->rotor[i] - ZERO_CELSIUS);
  }
  for (int i = 0; i < 2; i++) {
    bw_csv_put_number(csv, point->pad[i] - ZERO_CELSIUS);
  }
  bw_csv_end_row(csv);
}

bool bw_descent_write_csv(const struct bw_assessment *assessment, FILE *stream) {
  static const char *const columns[] = {
      "strategy",         "profile",         "load_state",    "charge",        "distance_m",
      "time_s",           "speed_kmh",       "grade_percent", "soc_percent",   "charge_limit_kw",
      "battery_power_kw", "machine_axle_kw", "friction_kw",   "rotor_front_c", "rotor_rear_c",
      "pad_front_c",      "pad_rear_c"};
  struct bw_csv_row csv = {.stream = stream};
  for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
    bw_csv_put_text(&csv, columns[i]);
  }
  bw_csv_end_row(&csv);
  for (size_t i = 0; i < assessment->descent_count; i++) {
    const struct bw_descent *descent = &assessment->descents[i];
    for (size_t k = 0; k < descent->count; k++) {
      put_point(&csv, descent, &descent->point[k]);
    }
  }
  return !csv.has_failed;
}
