/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "model/battery.h"
#include "reference.h"

/** Charge acceptance of one cell under a voltage ceiling. Its open-circuit voltage is a table made
 *  of the published half-cell curves: the input of these rows, not their result. */

enum { POINTS = 14 };
static const double CHARGE[POINTS] = {0.00, 0.05, 0.10, 0.20, 0.30, 0.40, 0.50,
                                      0.60, 0.70, 0.80, 0.90, 0.95, 0.98, 1.00};
static const double VOLTAGE[POINTS] = {2.5000, 3.1094, 3.2959, 3.4852, 3.5814, 3.6670, 3.7509,
                                       3.8406, 3.9479, 4.0421, 4.0967, 4.1236, 4.1645, 4.2000};

static struct bw_table1 constant(double value) {
  struct bw_table1 table;
  const double x = 293.15;
  assert_int_equal(bw_table1_make(&x, &value, 1, &table, NULL), BW_OK);
  return table;
}

static struct bw_battery_limits limits_of(double resistance, double charge) {
  struct bw_battery cell = {.capacity = 5.0 * 3600.0,
                            .start_charge = charge,
                            .temperature = 293.15,
                            .voltage_max = 4.2,
                            .voltage_min = 2.5,
                            .charge_continuous = constant(1e6),
                            .charge_pulse = constant(1e6),
                            .pulse_time = 10.0,
                            .discharge_current_max = 1e6};
  assert_int_equal(bw_table1_make(CHARGE, VOLTAGE, POINTS, &cell.ocv, NULL), BW_OK);
  const double here = 293.15;
  const double half = 0.5;
  assert_int_equal(bw_table2_make(&here, 1, &half, 1, &resistance, &cell.resistance, NULL), BW_OK);
  const struct bw_battery_state state = bw_battery_start(&cell);
  struct bw_battery_limits limits;
  bw_battery_limits(&cell, &state, &limits);
  return limits;
}

void reference_battery(struct reference_list *list) {
  static const struct reference_origin PULSE = {"V (V - OCV)/R of the pulse tests (from memory) on "
                                                "Chen et al., JES 167 (2020) 080534 (quoted)",
                                                MARK_FROM_MEMORY_DERIVED};
  static const double WANTED[][3] = {
      {0.50, 14.97, 62.9}, {0.80, 5.26, 22.1}, {0.90, 3.44, 14.5}, {0.95, 2.55, 10.7}};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    const struct bw_battery_limits limits = limits_of(0.030, WANTED[i][0]);
    reference_add(list, "BAT-5", "A", PULSE,
                  (struct reference_pair){WANTED[i][1], limits.charge_current, 5.1e-3},
                  "charge current of a cell at %.0f %%, 30 mohm, 4.2 V", 100.0 * WANTED[i][0]);
    reference_add(list, "BAT-5", "W", PULSE,
                  (struct reference_pair){WANTED[i][2], limits.charge_power, 0.051},
                  "the same, power");
  }
  const double half = limits_of(0.030, 0.5).charge_power;
  reference_add(list, "BAT-6", "1", PULSE,
                (struct reference_pair){2.8, half / limits_of(0.030, 0.8).charge_power, 0.051},
                "power at 50 %% over power at 80 %%");
  reference_add(list, "BAT-6", "1", PULSE,
                (struct reference_pair){5.9, half / limits_of(0.030, 0.95).charge_power, 0.051},
                "power at 50 %% over power at 95 %%");
  reference_add(
      list, "BAT-6", "1", (struct reference_origin){"power ~ 1/R", MARK_DERIVED},
      (struct reference_pair){
          0.5, limits_of(0.060, 0.7).charge_power / limits_of(0.030, 0.7).charge_power, 1e-9},
      "twice the resistance (cold)");
}
