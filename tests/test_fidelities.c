/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "assess/evaluate.h"
#include "input/case.h"
#include "strategies/registry.h"

#include <stdio.h>

/** Rolling and slipping wheels on published cycles with dry grip: the energies agree within 0.5 %.
 *
 *  What the difference is made of, on the NYCC by the series strategy, of 455 kJ at the terminals:
 *  +0.37 % because a rolling car that pulls away counts as braking while its brakes let go (0.1 s
 *  per start, in which only no-load losses and auxiliaries flow), where wheels of their own are
 *  still held; what is left, 0.01 %, is the tyre's curve, which bends below its slope at zero slip
 *  under which the rolling wheel goes on, and the wheels' own speeds. */

struct outcome {
  struct bw_summary summary;
  double standing; /* J at the terminals, counted as braking while the car stands and is not held */
};

static enum bw_status stand(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct outcome *outcome = context;
  double torque = 0.0;
  for (int i = 0; i < 2; i++) {
    torque += sample->axle[i].machine_torque + sample->axle[i].friction_torque;
  }
  const bool is_braking = !sample->is_parked && (sample->demand > 0.0 || torque > 1.0);
  if (is_braking && !(sample->distance > 0.0)) {
    outcome->standing += sample->battery_work;
  }
  return BW_OK;
}

static void evaluate(const char *cycle, bool slips, const char *strategy, struct outcome *outcome) {
  char name[64];
  (void)snprintf(name, sizeof name, "cycle.name=%s", cycle);
  /* the slope of dry asphalt, TYR-1: the same tyre at small slip */
  const struct bw_override overrides[] = {
      {name},
      {"vehicle.slip_stiffness=30.188"},
      {slips ? "simulation.fidelity=slip" : "simulation.fidelity=rolling"}};
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  if (bw_case_load("cases/hatchback-udds.cfg", "cases", overrides, 3, &loaded, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  *outcome = (struct outcome){.standing = 0.0};
  const struct bw_observer observer = {.context = outcome, .watch = stand};
  struct bw_evaluation evaluation;
  if (bw_evaluate(loaded, bw_strategy_find(strategy), &observer, &evaluation, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  outcome->summary = evaluation.summary;
  bw_evaluation_free(&evaluation);
  bw_case_destroy(loaded);
}

/* 0.5 % in energy, which the project asks for */
static const double SAME_ENERGY = 5e-3;

static void compare(const char *cycle, const char *strategy) {
  static const enum bw_summary_column ENERGIES[] = {
      BW_SUMMARY_ENERGY_DEMANDED,       BW_SUMMARY_ENERGY_DELIVERED,
      BW_SUMMARY_ENERGY_FRICTION_FRONT, BW_SUMMARY_ENERGY_FRICTION_REAR,
      BW_SUMMARY_NET_CONSUMPTION,       BW_SUMMARY_DISTANCE};
  static const enum bw_summary_column RECOVERED[] = {
      BW_SUMMARY_ENERGY_MACHINE_AXLE, BW_SUMMARY_ENERGY_SHAFT, BW_SUMMARY_ENERGY_DC,
      BW_SUMMARY_ENERGY_BATTERY, BW_SUMMARY_ENERGY_CELLS};
  struct outcome rolls;
  struct outcome slips;
  evaluate(cycle, false, strategy, &rolls);
  evaluate(cycle, true, strategy, &slips);
  const double *a = rolls.summary.value;
  const double *b = slips.summary.value;
  for (size_t i = 0; i < sizeof ENERGIES / sizeof *ENERGIES; i++) {
    CHECK_RELATIVE(b[ENERGIES[i]], a[ENERGIES[i]], SAME_ENERGY);
  }
  const double battery[2] = {a[BW_SUMMARY_ENERGY_BATTERY], b[BW_SUMMARY_ENERGY_BATTERY]};
  print_message(
      "%s, %s: terminals %.2f and %.2f kJ (%+.3f %%), of it standing %.2f and %.2f; "
      "friction %+.3f %%\n",
      cycle, strategy, battery[0], battery[1], 100.0 * (battery[1] - battery[0]) / fabs(battery[0]),
      rolls.standing * 1e-3, slips.standing * 1e-3,
      100.0 * (b[BW_SUMMARY_ENERGY_FRICTION_FRONT] / a[BW_SUMMARY_ENERGY_FRICTION_FRONT] - 1.0));
  /* without those moments of standing the two do the same to a tenth of that */
  CHECK_RELATIVE(battery[1] - slips.standing * 1e-3, battery[0] - rolls.standing * 1e-3,
                 0.1 * SAME_ENERGY);
  if (battery[0] > 0.0) {
    for (size_t i = 0; i < sizeof RECOVERED / sizeof *RECOVERED; i++) {
      CHECK_RELATIVE(b[RECOVERED[i]], a[RECOVERED[i]], SAME_ENERGY);
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
