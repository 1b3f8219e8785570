/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_pack.h"

#include "check.h"

/* Open-circuit voltage of a 5 A h 21700 NMC/graphite cell over charge: BAT-4, derived from the
 * half-cell potentials published by Chen et al., J. Electrochem. Soc. 167 (2020) 080534 (read as
 * transcribed elsewhere); 0 = 2.5 V, 1 = 4.2 V */
enum { OCV_POINTS = 14 };
static const double CHARGE[OCV_POINTS] = {0.00, 0.05, 0.10, 0.20, 0.30, 0.40, 0.50,
                                          0.60, 0.70, 0.80, 0.90, 0.95, 0.98, 1.00};
static const double OCV[OCV_POINTS] = {2.5000, 3.1094, 3.2959, 3.4852, 3.5814, 3.6670, 3.7509,
                                       3.8406, 3.9479, 4.0421, 4.0967, 4.1236, 4.1645, 4.2000};

struct bw_table1 make_constant(double value) {
  struct bw_table1 table;
  const double x = 293.15;
  assert_int_equal(bw_table1_make(&x, &value, 1, &table, NULL), BW_OK);
  return table;
}

struct bw_battery make_pack(double cells, double strings, double resistance) {
  struct bw_battery battery = {.capacity = 5.0 * 3600.0 * strings,
                               .start_charge = 0.5,
                               .temperature = 293.15,
                               .voltage_max = 4.2 * cells,
                               .voltage_min = 2.5 * cells,
                               .charge_continuous = make_constant(1e6),
                               .charge_pulse = make_constant(1e6),
                               .pulse_time = 10.0,
                               .discharge_current_max = 1e6,
                               .auxiliaries = 450.0};
  double ocv[OCV_POINTS];
  for (size_t i = 0; i < OCV_POINTS; i++) {
    ocv[i] = OCV[i] * cells;
  }
  assert_int_equal(bw_table1_make(CHARGE, ocv, OCV_POINTS, &battery.ocv, NULL), BW_OK);
  const double here = 293.15;
  const double half = 0.5;
  assert_int_equal(bw_table2_make(&here, 1, &half, 1, &resistance, &battery.resistance, NULL),
                   BW_OK);
  return battery;
}
