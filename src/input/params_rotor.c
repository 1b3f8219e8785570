/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define AT(i, field)                                                                               \
  (offsetof(struct bw_case, disc) + (i) * sizeof(struct bw_disc) + offsetof(struct bw_disc, field))
#define NUM(i, word, leaf, unit, field, min, max, fallback, help)                                  \
  BW_NUMBER("rotor." word "." leaf, unit, AT(i, field), min, max, fallback, help)

/* the fallbacks are ordinary figures of grey cast iron discs: common practice, no source */
#define AXLE_ROWS(i, w, rubbed, thickness)                                                         \
  NUM(i, w, "rubbed_area_cm2", "cm2", area, 10.0, 20000.0, rubbed,                                 \
      "faces that the pads rub, both sides of both discs"),                                        \
      NUM(i, w, "depth_mm", "mm", depth, 1.0, 100.0, thickness,                                    \
          "half a solid disc's thickness, or one cheek of a ventilated one"),                      \
      NUM(i, w, "density_kgpm3", "kg/m3", density, 1000.0, 12000.0, 7250.0,                        \
          "of the disc; grey cast iron"),                                                          \
      NUM(i, w, "specific_heat_j_per_kgk", "J/(kg K)", specific_heat, 100.0, 3000.0, 460.0,        \
          "of the disc; grey cast iron"),                                                          \
      NUM(i, w, "conductivity_w_per_mk", "W/(m K)", conductivity, 1.0, 500.0, 50.0,                \
          "of the disc; grey cast iron, less when hot")

static const struct bw_param_row ROWS[] = {
    AXLE_ROWS(BW_FRONT, "front", 1000.0, 9.0),
    AXLE_ROWS(BW_REAR, "rear", 700.0, 5.0),
};

struct bw_param_rows bw_params_rotor(void) {
  return BW_ROWS(ROWS);
}
