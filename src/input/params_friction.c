/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define BRAKES(field) (offsetof(struct bw_case, brakes) + offsetof(struct bw_brakes, field))
#define AT(i, field)                                                                               \
  (BRAKES(axle) + (i) * sizeof(struct bw_friction) + offsetof(struct bw_friction, field))
#define NUM(i, word, leaf, unit, field, min, max, fallback, help)                                  \
  BW_NUMBER("friction." word "." leaf, unit, AT(i, field), min, max, fallback, help)

#define PRESSURE_ROWS(i, w)                                                                        \
  BW_NEEDED("friction." w ".torque_per_pressure_nm_per_bar", "N m/bar", AT(i, per_pressure), 0.0,  \
            1000.0, "axle torque per pressure at nominal pad friction; 0: no brake on this axle"), \
      NUM(i, w, "threshold_bar", "bar", threshold, 0.0, 20.0, 0.5,                                 \
          "pressure at which the pads begin to press"),                                            \
      NUM(i, w, "pressure_max_bar", "bar", pressure_max, 1.0, 400.0, 120.0, "greatest pressure"),  \
      NUM(i, w, "dead_time_ms", "ms", dead_time, 0.0, 1000.0, 35.0,                                \
          "bus and hydraulics, from request to first pressure"),                                   \
      NUM(i, w, "lag_ms", "ms", lag, 0.1, 2000.0, 70.0, "first-order lag of pressure"),            \
      NUM(i, w, "build_bar_per_s", "bar/s", build, 1.0, 10000.0, 400.0,                            \
          "greatest rise of pressure"),                                                            \
      NUM(i, w, "release_bar_per_s", "bar/s", release, 1.0, 10000.0, 500.0,                        \
          "greatest fall of pressure")

#define PAD_ROWS(i, w)                                                                             \
  NUM(i, w, "pad_friction", "", pad_nominal, 0.05, 1.0, 0.38,                                      \
      "pad friction coefficient the controller believes in"),                                      \
      NUM(i, w, "pad_scale", "", pad_scale, 0.1, 3.0, 1.0, "real pad friction over the table's"),  \
      BW_TABLE("friction." w ".pad_table", BW_STORE_TABLE1, AT(i, pad), "temperature_c,friction",  \
               false, "pad friction over rotor temperature; without it pad_friction holds"),       \
      NUM(i, w, "heat_capacity_j_per_k", "J/K", heat_capacity, 100.0, 200000.0, 8000.0,            \
          "both rotors of the axle"),                                                              \
      NUM(i, w, "cooling_w_per_k", "W/K", cooling, 0.0, 1000.0, 6.0, "both rotors, at rest"),      \
      NUM(i, w, "cooling_w_per_k_per_mps", "W/K/(m/s)", cooling_speed, 0.0, 100.0, 1.0,            \
          "growth of the cooling with speed"),                                                     \
      NUM(i, w, "radiating_area_m2", "m2", radiating_area, 0.0, 5.0, 0.15,                         \
          "radiating area times emissivity, both rotors"),                                         \
      NUM(i, w, "heat_share", "", heat_share, 0.0, 1.0, 0.9,                                       \
          "share of the friction heat that enters the rotors"),                                    \
      NUM(i, w, "start_c", "degC", start_temperature, -50.0, 800.0, 40.0,                          \
          "rotor and pad temperature at the start"),                                               \
      NUM(i, w, "pad_heat_capacity_j_per_k", "J/K", pad_heat_capacity, 10.0, 50000.0, 1500.0,      \
          "assess: all pads of the axle"),                                                         \
      NUM(i, w, "pad_contact_w_per_k", "W/K", pad_contact, 0.0, 1000.0, 6.0,                       \
          "assess: heat from rotors to pads per kelvin"),                                          \
      NUM(i, w, "pad_cooling_w_per_k", "W/K", pad_cooling, 0.0, 1000.0, 3.0,                       \
          "assess: heat from pads to the air per kelvin")

static const struct bw_param_row ROWS[] = {
    BW_CHOICE("friction.layout", "per-axle|common|pedal-coupled", BW_STORE_ENUM, BRAKES(layout), 2,
              0, "plumbing: pressure free per axle, one pressure, or one with a pedal floor"),
    BW_NUMBER("friction.parallel_ratio", "", BRAKES(parallel_ratio), 0.0, 20.0, 1.0,
              "nominal machine share over friction share of the pedal"),
    BW_FLAG("friction.prefill", BRAKES(is_prefilled), 0,
            "while braking is demanded pressure rests at the threshold"),
    PRESSURE_ROWS(BW_FRONT, "front"),
    PAD_ROWS(BW_FRONT, "front"),
    PRESSURE_ROWS(BW_REAR, "rear"),
    PAD_ROWS(BW_REAR, "rear"),
};

struct bw_param_rows bw_params_friction(void) {
  return BW_ROWS(ROWS);
}
