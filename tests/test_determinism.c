/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"

/** The same inputs give the same bytes: every value of every sample enters a hash. */

static struct bw_case *busy_case(double speed) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1300.0, 47e3);
  make_machine(made, BW_REAR, 700.0, 31e3);
  made->machine[BW_FRONT].lag = 0.017;
  made->machine[BW_FRONT].dead_time = 0.0123;
  made->machine[BW_FRONT].loss_kt = 0.003;
  make_friction_delay(made, 0.031, 0.083);
  const double time[] = {0.0, 3.0, 14.0, 31.0, 38.0, 47.0, 60.0, 66.0};
  const double value[] = {0.0, 0.0, speed, 16.1, 9.3, 11.9, 0.0, 0.0};
  make_trace(made, BW_TRACE_SPEED, time, value, sizeof time / sizeof *time);
  return made;
}

static uint64_t hash_of(const struct bw_case *made) {
  struct test_record record = {0};
  record_run(made, &TEST_FILL, NULL, &record);
  const uint64_t hash = record.hash;
  assert_true(record.drive_work > 1e4 && record.machine_work > 1e4);
  free_record(&record);
  return hash;
}

static void same_case_gives_same_bytes(void **state) {
  (void)state;
  struct bw_case *made = busy_case(13.7);
  const uint64_t first = hash_of(made);
  assert_true(hash_of(made) == first);
  /* a second case built from the same numbers, after the memory has been used by another one */
  struct bw_case *other = busy_case(13.9);
  const uint64_t different = hash_of(other);
  free_case(other);
  struct bw_case *twin = busy_case(13.7);
  assert_true(hash_of(twin) == first);
  assert_true(hash_of(made) == first);
  assert_true(different != first);
  free_case(twin);
  free_case(made);
}

/* an observer that runs the case again in the middle of the outer run */
struct nested {
  const struct bw_case *made;
  size_t count;
  uint64_t hash;
};

static enum bw_status run_inside(void *context, const struct bw_sample *sample,
                                 struct bw_diag *diag) {
  (void)sample;
  (void)diag;
  struct nested *nested = context;
  nested->count++;
  if (nested->count == 1234) {
    nested->hash = hash_of(nested->made);
  }
  return BW_OK;
}

static void one_case_serves_many_runs_at_once(void **state) {
  (void)state;
  struct bw_case *made = busy_case(13.7);
  const uint64_t alone = hash_of(made);
  struct nested nested = {.made = made};
  const struct bw_observer observer = {.context = &nested, .watch = run_inside};
  assert_int_equal(bw_run(made, &TEST_FILL, NULL, &observer, 1, NULL), BW_OK);
  assert_true(nested.count > 1234);
  assert_true(nested.hash == alone);
  free_case(made);
}

static void watching_changes_nothing(void **state) {
  (void)state;
  /* the second observer sees what the first one saw */
  struct bw_case *made = busy_case(13.7);
  struct nested idle = {.made = made, .count = 100000};
  const uint64_t alone = hash_of(made);
  struct test_record record = {0};
  record_run(made, &TEST_FILL, NULL, &record);
  const struct bw_observer one = {.context = &idle, .watch = run_inside};
  assert_int_equal(bw_run(made, &TEST_FILL, NULL, &one, 1, NULL), BW_OK);
  assert_true(record.hash == alone);
  assert_true(idle.count == 100000 + record.n);
  free_record(&record);
  free_case(made);
}

static void strategies_are_told_apart(void **state) {
  (void)state;
  struct bw_case *made = busy_case(13.7);
  struct test_record machines = {0};
  struct test_record friction = {0};
  record_run(made, &TEST_FILL, NULL, &machines);
  record_run(made, &TEST_FRICTION, NULL, &friction);
  assert_true(machines.hash != friction.hash);
  free_record(&machines);
  free_record(&friction);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(same_case_gives_same_bytes),
      cmocka_unit_test(one_case_serves_many_runs_at_once),
      cmocka_unit_test(watching_changes_nothing),
      cmocka_unit_test(strategies_are_told_apart),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
