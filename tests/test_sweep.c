/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "batch/sweep_plan.h"
#include "batch/sweep_run.h"
#include "output/journal.h"

#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static void check_value(const struct bw_sweep_plan *plan, size_t point, size_t key,
                        const char *wanted) {
  char value[BW_SWEEP_VALUE_MAX];
  bw_sweep_value(plan, point, key, value);
  assert_string_equal(value, wanted);
}

static void last_axis_changes_fastest(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  struct bw_sweep_plan plan = {.point_count = 1};
  assert_int_equal(bw_sweep_plan_add(&plan, table, "battery.soc_percent=5:95:45,97", NULL), BW_OK);
  assert_int_equal(bw_sweep_plan_add(&plan, table, "cycle=udds,wltc-3b", NULL), BW_OK);
  assert_int_equal(plan.point_count, 8);
  assert_string_equal(bw_sweep_key(&plan, 1), "cycle.name");
  static const char *const soc[] = {"5", "5", "50", "50", "95", "95", "97", "97"};
  for (size_t i = 0; i < 8; i++) {
    check_value(&plan, i, 0, soc[i]);
    check_value(&plan, i, 1, i % 2 == 0 ? "udds" : "wltc-3b");
  }
  bw_sweep_plan_free(&plan);
  bw_param_table_destroy(table);
}

/* 0.1 + 2 x 0.1 is 0.30000000000000004 in binary; what stands in the table is what is loaded */
static void ranges_reach_their_end_in_clean_numbers(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  struct bw_sweep_plan plan = {.point_count = 1};
  assert_int_equal(bw_sweep_plan_add(&plan, table, "battery.soc_percent=0.1:0.3:0.1", NULL), BW_OK);
  assert_int_equal(plan.point_count, 3);
  check_value(&plan, 2, 0, "0.3");
  bw_sweep_plan_free(&plan);
  plan.point_count = 1;
  assert_int_equal(bw_sweep_plan_add(&plan, table, "battery.temperature_c=-0.3:0.3:0.1", NULL),
                   BW_OK);
  assert_int_equal(plan.point_count, 7);
  check_value(&plan, 3, 0, "0");
  bw_sweep_plan_free(&plan);
  plan.point_count = 1;
  assert_int_equal(bw_sweep_plan_add(&plan, table, "battery.soc_percent=0.01:100:x10", NULL),
                   BW_OK);
  assert_int_equal(plan.point_count, 5);
  check_value(&plan, 0, 0, "0.01");
  check_value(&plan, 4, 0, "100");
  bw_sweep_plan_free(&plan);
  bw_param_table_destroy(table);
}

static void bad_axes_are_refused(void **state) {
  (void)state;
  static const char *const bad[] = {"battery.soc_percent",           "=5",
                                    "battery.soc_percent=",          "battery.soc_percent=5,,6",
                                    "battery.soc_percent=5:6",       "battery.soc_percent=5:6:0",
                                    "battery.soc_percent=6:5:1",     "battery.soc_percent=1:9:x1",
                                    "battery.soc_percent=0:9:x2",    "battery.soc_percent=-1:9:x2",
                                    "battery.soc_percent=9:1:x2",    "battery.soc_percent=1:2:3:4",
                                    "battery.soc_percent=nan:2:1",   "battery.soc_percent=high",
                                    "battery.soc_percent=0:1:1e-12", "no.such.key=1",
                                    "battery.soc_percent=1:9:x-2",   "battery.soc_percent=1:9:"};
  struct bw_param_table *table = bw_param_table_create();
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct bw_sweep_plan plan = {.point_count = 1};
    struct bw_diag diag = {0};
    if (bw_sweep_plan_add(&plan, table, bad[i], &diag) != BW_E_USAGE) {
      fail_msg("'%s' was not refused", bad[i]);
    }
    assert_int_equal(diag.count, 1);
    assert_int_equal(plan.axis_count, 0);
    assert_int_equal(plan.point_count, 1);
    bw_sweep_plan_free(&plan);
  }
  bw_param_table_destroy(table);
}

static void too_many_values_are_counted(void **state) {
  (void)state;
  static const struct {
    const char *axis;
    const char *told[2];
  } long_ones[] = {
      {"battery.soc_percent=1:100:1e-9",
       {"'1:100:1e-9' is 9.9e+10 values for battery.soc_percent", "for instance 9.9"}},
      {"battery.soc_percent=100:1:-1e-9", {"is 9.9e+10 values", "for instance -9.9"}},
      {"battery.soc_percent=1:100:x1.00000001", {"is 4.61e+08 values", "for instance x1.58"}},
      {"battery.soc_percent=0:1:1e-320", {"is more than 1e+300 values", "for instance 0.1"}},
      {"battery.soc_percent=0:1e8:1", {"is 1e+08 values", "at most 100000000 points"}},
  };
  struct bw_param_table *table = bw_param_table_create();
  struct bw_diag diag = {0};
  for (size_t i = 0; i < sizeof long_ones / sizeof long_ones[0]; i++) {
    struct bw_sweep_plan plan = {.point_count = 1};
    diag.count = 0;
    assert_int_equal(bw_sweep_plan_add(&plan, table, long_ones[i].axis, &diag), BW_E_USAGE);
    assert_non_null(strstr(diag.line[0], long_ones[i].told[0]));
    assert_non_null(strstr(diag.line[0], long_ones[i].told[1]));
    bw_sweep_plan_free(&plan);
  }
  struct bw_sweep_plan plan = {.point_count = 1};
  diag.count = 0;
  assert_int_equal(bw_sweep_plan_add(&plan, table, "battery.soc_percent=1:1e8:1", &diag), BW_OK);
  assert_int_equal(plan.point_count, 100000000);
  assert_int_equal(bw_sweep_plan_add(&plan, table, "road.grade_percent=-1,0,1", &diag), BW_E_USAGE);
  assert_non_null(strstr(diag.line[0], "has 3e+08 points and 100000000 are the most"));
  bw_sweep_plan_free(&plan);
  bw_param_table_destroy(table);
}

/* what a crew is asked to do, and what was taken */
struct probe {
  size_t next;
  size_t lost;
  size_t crash_at;
  size_t stop_at;
  bool is_wrong;
};

static void square(void *context, size_t index, struct bw_parcel *parcel) {
  const struct probe *probe = context;
  if (index == probe->crash_at) {
    (void)raise(SIGKILL);
  }
  if (index % 7 == 0) {
    (void)nanosleep(&(struct timespec){.tv_nsec = 2000000},
                    NULL); /* so that the others come earlier */
  }
  const size_t answer = index * index;
  bw_parcel_put(parcel, &answer, sizeof answer);
}

static enum bw_status take(void *context, size_t index, struct bw_parcel *parcel, const char *lost,
                           struct bw_diag *diag) {
  struct probe *probe = context;
  size_t answer = 0;
  probe->is_wrong = probe->is_wrong || index != probe->next++;
  if (index == probe->stop_at) {
    return bw_fail(diag, BW_E_IO, "enough; stop");
  }
  if (parcel == NULL) {
    probe->lost++;
    probe->is_wrong =
        probe->is_wrong || index != probe->crash_at || strstr(lost, "signal 9") == NULL;
    return BW_OK;
  }
  bw_parcel_get(parcel, &answer, sizeof answer);
  probe->is_wrong = probe->is_wrong || answer != index * index;
  return BW_OK;
}

static void crew_takes_results_in_order(void **state) {
  (void)state;
  for (size_t workers = 1; workers <= 5; workers++) {
    struct probe probe = {.next = 3, .crash_at = SIZE_MAX, .stop_at = SIZE_MAX};
    const struct bw_sweep_crew crew = {.first = 3,
                                       .end = 300,
                                       .workers = workers,
                                       .context = &probe,
                                       .work = square,
                                       .take = take};
    assert_int_equal(bw_sweep_run(&crew, NULL), BW_OK);
    assert_int_equal(probe.next, 300);
    assert_false(probe.is_wrong);
  }
}

static void crew_survives_a_dying_worker(void **state) {
  (void)state;
  for (size_t workers = 1; workers <= 3; workers++) {
    struct probe probe = {.crash_at = 20, .stop_at = SIZE_MAX};
    const struct bw_sweep_crew crew = {
        .end = 60, .workers = workers, .context = &probe, .work = square, .take = take};
    assert_int_equal(bw_sweep_run(&crew, NULL), BW_OK);
    assert_int_equal(probe.next, 60);
    assert_int_equal(probe.lost, 1);
    assert_false(probe.is_wrong);
  }
}

static bool always(void) {
  return true;
}

static void crew_ends_when_told(void **state) {
  (void)state;
  struct probe probe = {.crash_at = SIZE_MAX, .stop_at = 10};
  struct bw_sweep_crew crew = {
      .end = 1000, .workers = 2, .context = &probe, .work = square, .take = take};
  assert_int_equal(bw_sweep_run(&crew, NULL), BW_E_IO);
  assert_int_equal(probe.next, 11);
  crew.is_cancelled = always;
  assert_int_equal(bw_sweep_run(&crew, NULL), BW_E_INTERRUPTED);
}

static void journal_keeps_what_is_sound(void **state) {
  (void)state;
  char folder[] = "/tmp/bw-sweep-XXXXXX";
  char path[64];
  assert_non_null(mkdtemp(folder));
  const struct bw_journal_plan plan = {.inputs = 42, .stretch = "1 of 1", .header = "a,b\n"};
  const struct bw_journal_state one = {.points = 1, .failed = 1, .missed = 2};
  struct bw_journal *journal = NULL;
  assert_int_equal(bw_journal_open(folder, &plan, false, &journal, NULL), BW_OK);
  assert_int_equal(bw_journal_add(journal, "1,2\n", 4, one, NULL), BW_OK);
  assert_int_equal(bw_journal_add(journal, "3,4\n", 4, one, NULL), BW_OK);
  bw_journal_leave(journal);
  /* the second point's rows lose their last byte */
  (void)snprintf(path, sizeof path, "%s/sweep.csv.partial", folder);
  assert_int_equal(truncate(path, 11), 0);
  assert_int_equal(bw_journal_open(folder, &plan, false, &journal, NULL), BW_E_USAGE);
  const struct bw_journal_plan other = {.inputs = 43, .stretch = "1 of 1", .header = "a,b\n"};
  assert_int_equal(bw_journal_open(folder, &other, true, &journal, NULL), BW_E_USAGE);
  assert_int_equal(bw_journal_open(folder, &plan, true, &journal, NULL), BW_OK);
  assert_int_equal(bw_journal_state(journal).points, 1);
  assert_int_equal(bw_journal_state(journal).failed, 1);
  assert_int_equal(bw_journal_state(journal).missed, 2);
  assert_int_equal(bw_journal_add(journal, "5,6\n", 4, one, NULL), BW_OK);
  assert_int_equal(bw_journal_finish(journal, NULL), BW_OK);
  char text[32] = "";
  (void)snprintf(path, sizeof path, "%s/sweep.csv", folder);
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  const size_t got = fread(text, 1, sizeof text - 1, file);
  (void)fclose(file);
  assert_int_equal(got, 12);
  assert_string_equal(text, "a,b\n1,2\n5,6\n");
  /* finished: known again, with what was counted; other inputs are refused */
  assert_int_equal(bw_journal_open(folder, &plan, true, &journal, NULL), BW_OK);
  assert_true(bw_journal_is_done(journal));
  assert_int_equal(bw_journal_state(journal).points, 2);
  assert_int_equal(bw_journal_state(journal).failed, 2);
  assert_int_equal(bw_journal_state(journal).missed, 4);
  assert_string_equal(bw_journal_rows_path(journal), path);
  assert_int_equal(bw_journal_finish(journal, NULL), BW_OK);
  assert_int_equal(bw_journal_open(folder, &other, true, &journal, NULL), BW_E_USAGE);
  assert_int_equal(unlink(path), 0);
  (void)snprintf(path, sizeof path, "%s/sweep.done", folder);
  assert_int_equal(unlink(path), 0);
  assert_int_equal(rmdir(folder), 0); /* nothing else was left */
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(last_axis_changes_fastest),
      cmocka_unit_test(ranges_reach_their_end_in_clean_numbers),
      cmocka_unit_test(bad_axes_are_refused),
      cmocka_unit_test(too_many_values_are_counted),
      cmocka_unit_test(crew_takes_results_in_order),
      cmocka_unit_test(crew_survives_a_dying_worker),
      cmocka_unit_test(crew_ends_when_told),
      cmocka_unit_test(journal_keeps_what_is_sound),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
