/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "whole_case.h"

#include <stdio.h>

/** The shipped manoeuvres run under every assessment, and show what they are there for. */

static struct bw_summary evaluate(const char *path, const char *set, const char *strategy) {
  const struct bw_override override = {set};
  const struct bw_summary summary = summary_of_file(path, &override, set != NULL ? 1 : 0, strategy);
  CHECK_WITHIN(summary.value[BW_SUMMARY_LEDGER_MECHANICAL], 0.0, 1e-9);
  CHECK_WITHIN(summary.value[BW_SUMMARY_LEDGER_ELECTRICAL], 0.0, 1e-6);
  return summary;
}

static void books_and_kinematic_check_hold_in_all_of_them(void **state) {
  (void)state;
  const char *names[] = {"gentle-stop", "firm-stop",   "tip-in-out",    "panic-stop",
                         "snow-stop",   "grip-step",   "slippery-bend", "stop-and-go",
                         "hill-hold",   "long-descent"};
  for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
    char path[128];
    (void)snprintf(path, sizeof path, "cases/manoeuvres/%s.cfg", names[i]);
    const struct bw_summary series = evaluate(path, NULL, "series");
    const struct bw_summary friction = evaluate(path, NULL, "friction-only");
    /* contact forces of 10 ms against speeds of 10 ms: antilock and shuffle move within them */
    CHECK_WITHIN(series.value[BW_SUMMARY_KINEMATIC_CHECK], 0.0, 1e-3);
    CHECK_WITHIN(friction.value[BW_SUMMARY_KINEMATIC_CHECK], 0.0, 1e-3);
    CHECK_WITHIN(series.value[BW_SUMMARY_WHEEL_LOCKED], 0.0, 0.1);
    CHECK_WITHIN(friction.value[BW_SUMMARY_WHEEL_LOCKED], 0.0, 0.1);
    CHECK_WITHIN(series.value[BW_SUMMARY_BODY_JERK_PEAK], 0.5, 300.0);
  }
}

static void hill_hold_needs_the_park_brake(void **state) {
  (void)state;
  const char *path = "cases/manoeuvres/hill-hold.cfg";
  const struct bw_summary held = evaluate(path, NULL, "series");
  CHECK_CLOSE(held.value[BW_SUMMARY_ROLL_BACK], 0.0, 0.0);
  CHECK_CLOSE(held.value[BW_SUMMARY_HOLD_SHORTFALL], 0.0, 0.0);
  const struct bw_summary loose = evaluate(path, "park_brake.rear_torque_nm=0", "series");
  assert_true(loose.value[BW_SUMMARY_ROLL_BACK] > 1.0);
  assert_true(loose.value[BW_SUMMARY_HOLD_SHORTFALL] > 0.0);
}

static void snow_locks_without_antilock(void **state) {
  (void)state;
  const char *path = "cases/manoeuvres/snow-stop.cfg";
  const struct bw_summary loose = evaluate(path, "antilock.fitted=false", "series");
  assert_true(loose.value[BW_SUMMARY_WHEEL_LOCKED] > 0.5);
}

static void compliance_and_lash_are_felt_in_the_body(void **state) {
  (void)state;
  const char *path = "cases/manoeuvres/tip-in-out.cfg";
  const struct bw_summary soft = evaluate(path, NULL, "series");
  const struct bw_summary tight = evaluate(path, "driveline.front.lash_deg=0", "series");
  const double more =
      soft.value[BW_SUMMARY_BODY_JERK_PEAK] / tight.value[BW_SUMMARY_BODY_JERK_PEAK];
  print_message("lash makes the body's jerk %.2f times as large\n", more);
  assert_true(more > 1.02);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(books_and_kinematic_check_hold_in_all_of_them),
      cmocka_unit_test(hill_hold_needs_the_park_brake),
      cmocka_unit_test(snow_locks_without_antilock),
      cmocka_unit_test(compliance_and_lash_are_felt_in_the_body),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
