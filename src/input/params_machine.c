/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define AT(axle, field)                                                                            \
  (offsetof(struct bw_case, machine) + (axle) * sizeof(struct bw_machine) +                        \
   offsetof(struct bw_machine, field))
/* the words 'when fitted' in the help: required only then */
#define NUM(axle, word, leaf, unit, field, min, max, fallback, help)                               \
  BW_NUMBER("machine." word "." leaf, unit, AT(axle, field), min, max, fallback, help)
#define MUST(axle, word, leaf, unit, field, min, max, help)                                        \
  BW_NEEDED_IF("machine." word "." leaf, unit, AT(axle, field), min, max, help ", when fitted",    \
               "machine." word ".fitted", 1)

#define ENVELOPE_ROWS(i, w)                                                                        \
  BW_FLAG("machine." w ".fitted", AT(i, is_fitted), 0, "a machine drives and brakes this axle"),   \
      MUST(i, w, "shaft_torque_peak_nm", "N m", shaft_torque_peak, 1.0, 5000.0,                    \
           "peak shaft torque, driving and braking"),                                              \
      MUST(i, w, "shaft_torque_continuous_nm", "N m", shaft_torque_continuous, 0.1, 5000.0,        \
           "continuous shaft torque"),                                                             \
      MUST(i, w, "power_peak_kw", "kW", power_peak, 0.1, 1000.0, "peak mechanical power"),         \
      MUST(i, w, "speed_max_rpm", "rev/min", omega_max, 100.0, 40000.0,                            \
           "top shaft speed, no torque above"),                                                    \
      NUM(i, w, "breakdown_rpm", "rev/min", omega_breakdown, 100.0, 40000.0, 40000.0,              \
          "shaft speed above which torque falls with speed squared"),                              \
      NUM(i, w, "low_speed_zero_kmh", "km/h", low_speed_zero, 0.0, 50.0, 4.0,                      \
          "no braking torque below this road speed"),                                              \
      NUM(i, w, "low_speed_full_kmh", "km/h", low_speed_full, 0.1, 60.0, 8.0,                      \
          "full braking torque above this road speed, straight between"),                          \
      MUST(i, w, "ratio", "", ratio, 0.5, 50.0, "shaft turns per wheel turn"),                     \
      NUM(i, w, "gear_efficiency_percent", "%", efficiency, 50.0, 100.0, 97.0,                     \
          "gear efficiency, both directions"),                                                     \
      NUM(i, w, "inertia_kgm2", "kg m2", inertia, 0.0, 5.0, 0.03, "rotor and gear at the shaft"),  \
      BW_TABLE("machine." w ".torque_table", BW_STORE_TABLE2, AT(i, torque_table),                 \
               "speed_rpm,soc_percent,torque_nm|speed_rpm,torque_nm", false,                       \
               "shaft torque limit in place of peak torque, peak power and breakdown speed")

#define LOSS_ROWS(i, w)                                                                            \
  NUM(i, w, "loss_k0_w", "W", loss_k0, 0.0, 20000.0, 0.0, "machine and inverter loss, constant"),  \
      NUM(i, w, "loss_k1_w_per_radps", "W/(rad/s)", loss_k1, 0.0, 50.0, 0.0,                       \
          "loss per shaft speed"),                                                                 \
      NUM(i, w, "loss_k2_w_per_radps2", "W/(rad/s)2", loss_k2, 0.0, 1.0, 0.0,                      \
          "loss per shaft speed squared"),                                                         \
      MUST(i, w, "loss_kt_w_per_nm2", "W/(N m)2", loss_kt, 0.0, 10.0,                              \
           "loss per shaft torque squared"),                                                       \
      BW_TABLE("machine." w ".loss_map", BW_STORE_TABLE2, AT(i, loss_map),                         \
               "speed_rpm,torque_nm,loss_w", false,                                                \
               "loss over a full grid, in place of the four terms; controllers are told both"),    \
      BW_CHOICE("machine." w ".idle", "energised|gated-off", BW_STORE_BOOL,                        \
                AT(i, is_gated_off_idle), 1, 0, "no-load loss at zero torque: spent or not")

#define RESPONSE_ROWS(i, w)                                                                        \
  NUM(i, w, "dead_time_ms", "ms", dead_time, 0.0, 500.0, 5.0, "from request to first torque"),     \
      NUM(i, w, "lag_ms", "ms", lag, 0.1, 1000.0, 10.0, "first-order lag of torque"),              \
      NUM(i, w, "slew_nm_per_s", "N m/s", shaft_slew, 1.0, 1e6, 10000.0,                           \
          "greatest change of shaft torque"),                                                      \
      NUM(i, w, "heat_capacity_j_per_k", "J/K", heat_capacity, 100.0, 1e6, 18000.0,                \
          "of machine and inverter"),                                                              \
      NUM(i, w, "cooling_w_per_k", "W/K", cooling, 0.0, 10000.0, 100.0, "to the coolant"),         \
      NUM(i, w, "coolant_c", "degC", coolant_temperature, -50.0, 120.0, 40.0,                      \
          "coolant temperature"),                                                                  \
      NUM(i, w, "start_c", "degC", start_temperature, -50.0, 250.0, 40.0,                          \
          "machine temperature at the start"),                                                     \
      NUM(i, w, "derate_start_c", "degC", derate_start, -50.0, 300.0, 130.0,                       \
          "peak torque up to this temperature"),                                                   \
      NUM(i, w, "derate_end_c", "degC", derate_end, -50.0, 300.0, 160.0,                           \
          "only continuous torque from this temperature on, straight between")

static const struct bw_param_row ROWS[] = {
    ENVELOPE_ROWS(BW_FRONT, "front"), LOSS_ROWS(BW_FRONT, "front"),
    RESPONSE_ROWS(BW_FRONT, "front"), ENVELOPE_ROWS(BW_REAR, "rear"),
    LOSS_ROWS(BW_REAR, "rear"),       RESPONSE_ROWS(BW_REAR, "rear"),
};

struct bw_param_rows bw_params_machine(void) {
  return BW_ROWS(ROWS);
}
