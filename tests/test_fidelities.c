/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "whole_case.h"

#include <stdio.h>

/** Rolling and slipping wheels on published cycles with dry grip: the energies agree within 0.5 %,
 *  at the terminals within a tenth of that, and both brake as often. What is left is the tyre's
 *  curve, which bends below its slope at zero slip under which the rolling wheel goes on, and the
 *  wheels' own speeds. */

static struct bw_summary evaluate(const char *cycle, bool slips, const char *strategy) {
  char name[64];
  (void)snprintf(name, sizeof name, "cycle.name=%s", cycle);
  /* the slope of dry asphalt, TYR-1: the same tyre at small slip */
  const struct bw_override overrides[] = {
      {name},
      {"vehicle.slip_stiffness=30.188"},
      {slips ? "simulation.fidelity=slip" : "simulation.fidelity=rolling"}};
  return summary_of_file("cases/hatchback-udds.cfg", overrides, 3, strategy);
}

/* 0.5 % in energy, which the project asks for */
static const double SAME_ENERGY = 5e-3;

static void compare(const char *cycle, const char *strategy) {
  static const enum bw_summary_column energies[] = {
      BW_SUMMARY_ENERGY_DEMANDED,       BW_SUMMARY_ENERGY_DELIVERED,
      BW_SUMMARY_ENERGY_FRICTION_FRONT, BW_SUMMARY_ENERGY_FRICTION_REAR,
      BW_SUMMARY_NET_CONSUMPTION,       BW_SUMMARY_DISTANCE};
  static const enum bw_summary_column recovered[] = {
      BW_SUMMARY_ENERGY_MACHINE_AXLE, BW_SUMMARY_ENERGY_SHAFT, BW_SUMMARY_ENERGY_DC,
      BW_SUMMARY_ENERGY_BATTERY, BW_SUMMARY_ENERGY_CELLS};
  const struct bw_summary rolls = evaluate(cycle, false, strategy);
  const struct bw_summary slips = evaluate(cycle, true, strategy);
  const double *a = rolls.value;
  const double *b = slips.value;
  for (size_t i = 0; i < sizeof energies / sizeof *energies; i++) {
    CHECK_RELATIVE(b[energies[i]], a[energies[i]], SAME_ENERGY);
  }
  const double battery[2] = {a[BW_SUMMARY_ENERGY_BATTERY], b[BW_SUMMARY_ENERGY_BATTERY]};
  print_message(
      "%s, %s: terminals %.2f and %.2f kJ (%+.3f %%), friction %+.3f %%\n", cycle, strategy,
      battery[0], battery[1], 100.0 * (battery[1] - battery[0]) / fabs(battery[0]),
      100.0 * (b[BW_SUMMARY_ENERGY_FRICTION_FRONT] / a[BW_SUMMARY_ENERGY_FRICTION_FRONT] - 1.0));
  CHECK_RELATIVE(battery[1], battery[0], 0.1 * SAME_ENERGY);
  CHECK_CLOSE(b[BW_SUMMARY_BRAKING_EVENTS], a[BW_SUMMARY_BRAKING_EVENTS], 0.0);
  if (battery[0] > 0.0) {
    for (size_t i = 0; i < sizeof recovered / sizeof *recovered; i++) {
      CHECK_RELATIVE(b[recovered[i]], a[recovered[i]], SAME_ENERGY);
    }
  }
}

static void agree_on_the_nycc(void **state) {
  (void)state;
  compare("nycc", "series");
  compare("nycc", "friction-only");
}

static void agree_on_the_udds(void **state) {
  (void)state;
  compare("udds", "series");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(agree_on_the_nycc),
      cmocka_unit_test(agree_on_the_udds),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
