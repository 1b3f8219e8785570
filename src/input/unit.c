/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/unit.h"

#include "model/vehicle.h"

#include <stddef.h>
#include <string.h>

#define BW_PI   3.14159265358979323846
#define BW_KMH  (1.0 / 3.6)
#define BW_RPM  (2.0 * BW_PI / 60.0)
#define BW_DEG  (BW_PI / 180.0)
#define BW_ZERO 273.15 /* K at 0 degrees Celsius */

static const struct bw_unit UNITS[] = {
    {"", "", 1.0, 0.0},
    {"_a", "A", 1.0, 0.0},
    {"_ah", "A h", 3600.0, 0.0},
    {"_bar", "bar", 1e5, 0.0},
    {"_bar_per_s", "bar/s", 1e5, 0.0},
    {"_c", "degC", 1.0, BW_ZERO},
    {"_cm2", "cm2", 1e-4, 0.0},
    {"_cm3", "cm3", 1e-6, 0.0},
    {"_cm3_per_bar", "cm3/bar", 1e-11, 0.0},
    {"_cm3_per_s", "cm3/s", 1e-6, 0.0},
    {"_deg", "deg", BW_DEG, 0.0},
    {"_g", "g", BW_GRAVITY, 0.0},
    {"_gpa", "GPa", 1e9, 0.0},
    {"_hz", "Hz", 1.0, 0.0},
    {"_j_per_k", "J/K", 1.0, 0.0},
    {"_j_per_kgk", "J/(kg K)", 1.0, 0.0},
    {"_kg", "kg", 1.0, 0.0},
    {"_kgm2", "kg m2", 1.0, 0.0},
    {"_kgpm3", "kg/m3", 1.0, 0.0},
    {"_kj", "kJ", 1e3, 0.0},
    {"_kj_per_100km", "kJ/100km", 1e-2, 0.0},
    {"_kmh", "km/h", BW_KMH, 0.0},
    {"_kn", "kN", 1e3, 0.0},
    {"_kw", "kW", 1e3, 0.0},
    {"_m", "m", 1.0, 0.0},
    {"_m2", "m2", 1.0, 0.0},
    {"_mm", "mm", 1e-3, 0.0},
    {"_mohm", "mohm", 1e-3, 0.0},
    {"_mps", "m/s", 1.0, 0.0},
    {"_mps2", "m/s2", 1.0, 0.0},
    {"_mps3", "m/s3", 1.0, 0.0},
    {"_ms", "ms", 1e-3, 0.0},
    {"_n", "N", 1.0, 0.0},
    {"_n_per_kmh", "N/(km/h)", 3.6, 0.0},
    {"_n_per_kmh2", "N/(km/h)2", 3.6 * 3.6, 0.0},
    {"_nm", "N m", 1.0, 0.0},
    {"_nm_per_bar", "N m/bar", 1e-5, 0.0},
    {"_nm_per_rad", "N m/rad", 1.0, 0.0},
    {"_nm_per_s", "N m/s", 1.0, 0.0},
    {"_nms_per_rad", "N m s/rad", 1.0, 0.0},
    {"_per_s", "1/s", 1.0, 0.0},
    {"_per_s2", "1/s2", 1.0, 0.0},
    {"_percent", "%", 1e-2, 0.0},
    {"_rpm", "rev/min", BW_RPM, 0.0},
    {"_s", "s", 1.0, 0.0},
    {"_us", "us", 1e-6, 0.0},
    {"_v", "V", 1.0, 0.0},
    {"_w", "W", 1.0, 0.0},
    {"_w_per_k", "W/K", 1.0, 0.0},
    {"_w_per_k_per_mps", "W/K/(m/s)", 1.0, 0.0},
    {"_w_per_mk", "W/(m K)", 1.0, 0.0},
    {"_w_per_nm2", "W/(N m)2", 1.0, 0.0},
    {"_w_per_radps", "W/(rad/s)", 1.0, 0.0},
    {"_w_per_radps2", "W/(rad/s)2", 1.0, 0.0},
};

const struct bw_unit *bw_unit_of_name(const char *name) {
  const size_t length = strlen(name);
  const struct bw_unit *best = &UNITS[0];
  size_t best_length = 0;
  for (size_t i = 1; i < sizeof UNITS / sizeof UNITS[0]; i++) {
    const size_t n = strlen(UNITS[i].suffix);
    if (n > best_length && n < length && strcmp(name + length - n, UNITS[i].suffix) == 0) {
      best = &UNITS[i];
      best_length = n;
    }
  }
  return best;
}

double bw_unit_to_si(const struct bw_unit *unit, double value) {
  return (value + unit->shift) * unit->factor;
}
