/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BENT_BATTERY_H
#define BW_BENT_BATTERY_H

#include "check.h"
#include "make_case.h"

/** A pack with bent open-circuit voltage and resistance, made up here */
static inline void bend_battery(struct bw_battery *battery, uint64_t *seed) {
  double charge[6] = {0.0, 0.1, 0.35, 0.6, 0.9, 1.0};
  double ocv[6];
  double resistance[12];
  double temperature[2] = {263.0, 298.0};
  ocv[0] = test_uniform(seed, 300.0, 340.0);
  for (int i = 1; i < 6; i++) {
    ocv[i] = ocv[i - 1] + test_uniform(seed, 0.0, 20.0);
  }
  for (int i = 0; i < 12; i++) {
    resistance[i] = test_uniform(seed, 0.05, 0.4);
  }
  assert_int_equal(bw_table1_make(charge, ocv, 6, &battery->ocv, NULL), BW_OK);
  assert_int_equal(
      bw_table2_make(temperature, 2, charge, 6, resistance, &battery->resistance, NULL), BW_OK);
  double current = test_uniform(seed, 50.0, 300.0);
  double at = 298.0;
  assert_int_equal(bw_table1_make(&at, &current, 1, &battery->charge_continuous, NULL), BW_OK);
  current *= test_uniform(seed, 1.0, 2.0);
  assert_int_equal(bw_table1_make(&at, &current, 1, &battery->charge_pulse, NULL), BW_OK);
  battery->temperature = test_uniform(seed, 260.0, 300.0);
  battery->voltage_max = ocv[5] + test_uniform(seed, -10.0, 40.0);
  battery->rc_resistance = 0.05;
  battery->rc_time = 20.0;
  battery->capacity = 2e5;
}

#endif
