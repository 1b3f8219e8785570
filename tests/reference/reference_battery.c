/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_pack.h"
#include "reference.h"

/** Charge acceptance of one cell under a voltage ceiling. Its open-circuit voltage is a table made
 *  of the published half-cell curves: the input of these rows, not their result. */

static struct bw_battery_limits limits_of(double resistance, double charge) {
  const struct bw_battery cell = make_pack(1.0, 1.0, resistance);
  struct bw_battery_state state = bw_battery_start(&cell);
  state.charge = charge;
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
