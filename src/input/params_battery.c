/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define AT(field) (offsetof(struct bw_case, battery) + offsetof(struct bw_battery, field))

static const struct bw_param_row ROWS[] = {
    BW_NUMBER("battery.soc_percent", "%", AT(start_charge), 0.0, 100.0, 80.0,
              "state of charge at the start"),
    BW_NEEDED("battery.capacity_ah", "A h", AT(capacity), 0.1, 10000.0, "charge of the pack"),
    BW_NUMBER("battery.temperature_c", "degC", AT(temperature), -50.0, 80.0, 20.0,
              "cell temperature, held during the run"),
    BW_TABLE("battery.ocv", BW_STORE_TABLE1, AT(ocv), "soc_percent,voltage_v", true,
             "open-circuit voltage of the pack, never falling"),
    BW_TABLE("battery.resistance", BW_STORE_TABLE2, AT(resistance),
             "temperature_c,soc_percent,resistance_mohm|soc_percent,resistance_mohm", true,
             "resistance of the pack, without the RC pair"),
    BW_NUMBER("battery.rc_resistance_mohm", "mohm", AT(rc_resistance), 0.0, 10000.0, 0.0,
              "resistance of the RC pair"),
    BW_NUMBER("battery.rc_time_s", "s", AT(rc_time), 0.1, 10000.0, 20.0,
              "time constant of the RC pair"),
    BW_NEEDED("battery.voltage_max_v", "V", AT(voltage_max), 1.0, 1500.0,
              "charging stops at this terminal voltage"),
    BW_NEEDED("battery.voltage_min_v", "V", AT(voltage_min), 0.5, 1500.0,
              "discharging stops at this terminal voltage"),
    BW_TABLE("battery.charge_limits", BW_STORE_CHARGE, AT(charge_continuous),
             "temperature_c,continuous_a,pulse_a", true, "greatest charging current"),
    BW_NUMBER("battery.pulse_time_s", "s", AT(pulse_time), 0.1, 600.0, 10.0,
              "time for which the pulse current may flow"),
    BW_NEEDED("battery.discharge_current_max_a", "A", AT(discharge_current_max), 1.0, 5000.0,
              "greatest discharging current"),
    BW_NUMBER("battery.auxiliaries_w", "W", AT(auxiliaries), 0.0, 20000.0, 400.0,
              "power of everything but the machines, drawn all the time"),
};

struct bw_param_rows bw_params_battery(void) {
  return BW_ROWS(ROWS);
}
