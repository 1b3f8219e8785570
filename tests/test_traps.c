/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole evaluations with the processor's traps on: an operation that makes NaN or infinity out of
 * numbers, or compares with NaN by < or >, ends the test where it happens, not as an odd figure at
 * the end. A deliberate (double)NAN, 'not applicable', is quiet and traps nothing. */
#define _GNU_SOURCE /* NOLINT: the name is the C library's; feenableexcept */
#include "check.h"
#include "strategies/registry.h"
#include "whole_case.h"

#include <fenv.h>
#include <stdio.h>

enum { TRAPPED = FE_INVALID | FE_DIVBYZERO | FE_OVERFLOW };

static int traps_on(void **state) {
  (void)state;
  (void)feclearexcept(FE_ALL_EXCEPT);
  return feenableexcept(TRAPPED) == -1 ? -1 : 0;
}

static int traps_off(void **state) {
  (void)state;
  (void)fedisableexcept(TRAPPED);
  (void)feclearexcept(FE_ALL_EXCEPT);
  return 0;
}

static void evaluate_one(const struct bw_case *loaded, const struct bw_blend_strategy *strategy) {
  struct bw_evaluation evaluation = evaluate_case(loaded, strategy);
  assert_true(isfinite(evaluation.summary.value[BW_SUMMARY_ENERGY_BATTERY]));
  bw_evaluation_free(&evaluation);
}

static void evaluate_all(const char *path, const struct bw_override *set, size_t count) {
  struct bw_case *loaded = load_case(path, set, count);
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    evaluate_one(loaded, bw_strategy_at(s));
  }
  bw_case_destroy(loaded);
}

static void shipped_cases_trap_nothing(void **state) {
  (void)state;
  static const char *const PATH[] = {"cases/hatchback-wltc.cfg", "cases/hatchback-udds.cfg",
                                     "cases/crossover-us06.cfg", "cases/van-nycc.cfg",
                                     "cases/stop-100-tolerances.cfg"};
  for (size_t i = 0; i < sizeof PATH / sizeof PATH[0]; i++) {
    evaluate_all(PATH[i], NULL, 0);
  }
}

static void ceilings_trap_nothing(void **state) {
  (void)state;
  static const struct bw_override SET[] = {
      {"assess.ceiling=true"}, {"battery.soc_percent=96"}, {"battery.temperature_c=-5"}};
  evaluate_all("cases/stop-100.cfg", SET, 1);
  evaluate_all("cases/stop-100.cfg", SET, 3);
  evaluate_all("cases/van-nycc.cfg", SET, 3);
}

static void shipped_manoeuvres_trap_nothing(void **state) {
  (void)state;
  static const char *const NAME[] = {"firm-stop", "gentle-stop", "grip-step",
                                     "hill-hold", "panic-stop",  "slippery-bend",
                                     "snow-stop", "stop-and-go", "tip-in-out"};
  for (size_t i = 0; i < sizeof NAME / sizeof NAME[0]; i++) {
    char path[64];
    (void)snprintf(path, sizeof path, "cases/manoeuvres/%s.cfg", NAME[i]);
    evaluate_all(path, NULL, 0);
  }
  /* long, with ceilings: one strategy has to do */
  struct bw_case *descent = load_case("cases/manoeuvres/long-descent.cfg", NULL, 0);
  evaluate_one(descent, bw_strategy_find("series"));
  bw_case_destroy(descent);
}

static void sensors_messages_and_faults_trap_nothing(void **state) {
  (void)state;
  static const struct bw_override SET[] = {
      {"sensor.speed_noise_kmh=0.1"}, {"sensor.torque_delay_ms=30"}, {"message.jitter_ms=15"},
      {"message.loss_share=0.02"},    {"fault.kind=machine-trip"},   {"fault.start_s=1"}};
  evaluate_all("cases/stop-100.cfg", SET, 4);
  evaluate_all("cases/stop-100.cfg", SET, sizeof SET / sizeof SET[0]);
  evaluate_all("cases/manoeuvres/panic-stop.cfg", SET, 4);
}

int main(void) {
  static const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(shipped_cases_trap_nothing, traps_on, traps_off),
      cmocka_unit_test_setup_teardown(ceilings_trap_nothing, traps_on, traps_off),
      cmocka_unit_test_setup_teardown(shipped_manoeuvres_trap_nothing, traps_on, traps_off),
      cmocka_unit_test_setup_teardown(sensors_messages_and_faults_trap_nothing, traps_on,
                                      traps_off),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
