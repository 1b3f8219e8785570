/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define AT(i, field)                                                                               \
  (offsetof(struct bw_case, slip) + offsetof(struct bw_slip_setup, hydraulics) +                   \
   (i) * sizeof(struct bw_hydraulics) + offsetof(struct bw_hydraulics, field))
#define NUM(i, word, leaf, unit, field, min, max, fallback, help)                                  \
  BW_NUMBER("hydraulics." word "." leaf, unit, AT(i, field), min, max, fallback, help)

#define AXLE_ROWS(i, w)                                                                            \
  NUM(i, w, "line_length_m", "m", line_length, 0.0, 30.0, 0.0,                                     \
      "line to the calipers; length over wave speed joins friction." w ".dead_time_ms"),           \
      NUM(i, w, "flow_cm3_per_s", "cm3/s", flow, 0.0, 1000.0, 0.0,                                 \
          "slip: greatest flow into or out of the axle's calipers; 0: not limited"),               \
      NUM(i, w, "soft_volume_cm3", "cm3", soft_volume, 0.0, 50.0, 1.6,                             \
          "slip: volume taken up before the calipers stiffen, both sides"),                        \
      NUM(i, w, "soft_pressure_bar", "bar", soft_pressure, 0.1, 50.0, 3.0,                         \
          "slip: pressure in which that happens"),                                                 \
      NUM(i, w, "elasticity_cm3_per_bar", "cm3/bar", elasticity, 0.001, 1.0, 0.05,                 \
          "slip: volume per pressure after that, both sides"),                                     \
      NUM(i, w, "hysteresis_bar", "bar", hysteresis, 0.0, 20.0, 0.0,                               \
          "slip: full width of the band in which the pads do not follow the pressure")

static const struct bw_param_row ROWS[] = {
    BW_NUMBER_ASIDE("hydraulics.bulk_modulus_gpa", "GPa", 0.1, 5.0, 1.8,
                    "fluid and line together; with the density it makes the wave speed"),
    BW_NUMBER_ASIDE("hydraulics.density_kgpm3", "kg/m3", 700.0, 1500.0, 1060.0, "of the fluid"),
    AXLE_ROWS(BW_FRONT, "front"),
    AXLE_ROWS(BW_REAR, "rear"),
};

struct bw_param_rows bw_params_hydraulics(void) {
  return BW_ROWS(ROWS);
}
