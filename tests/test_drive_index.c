/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drive-trace indices against closed forms. */
#include "assess/drive_index.h"
#include "check.h"
#include "make_case.h"

static const double PERIOD = 0.01;

/* m/s: up with 1.3 m/s2 to 20.8, along, down again, all in whole tenths of a second */
static double profile(double time) {
  if (time < 16.0) {
    return 1.3 * time;
  }
  return time < 30.0 ? 20.8 : fmax(0.0, 20.8 - 1.6 * (time - 30.0));
}

static struct bw_case *profile_case(void) {
  struct bw_case *made = make_case();
  const double time[] = {0.0, 16.0, 30.0, 43.0};
  const double value[] = {0.0, 20.8, 20.8, 0.0};
  make_trace(made, BW_TRACE_SPEED, time, value, 4);
  return made;
}

/* drive `scale` times the profile plus `offset` */
static struct bw_drive_index driven(const struct bw_case *made, double scale, double offset) {
  struct bw_drive_index index = {0};
  for (int k = 0; k < 4300; k++) {
    const double time = (double)k * PERIOD;
    const struct bw_sample sample = {.time = time,
                                     .duration = PERIOD,
                                     .speed_start = scale * profile(time) + offset,
                                     .speed_end = scale * profile(time + PERIOD) + offset};
    bw_drive_index_watch(&index, &made->trace, &sample);
  }
  return index;
}

static void true_drive_has_no_error(void **state) {
  (void)state;
  struct bw_case *made = profile_case();
  const struct bw_drive_index index = driven(made, 1.0, 0.0);
  assert_int_equal(index.count, 430); /* ten a second */
  CHECK_CLOSE(bw_drive_index_error(&index), 0.0, 1e-12);
  CHECK_CLOSE(bw_drive_index_work(&index), 0.0, 1e-12);
  /* derived: work per mass of the rise is v^2/2; one instant at each kink is halved */
  CHECK_RELATIVE(index.work_target, 0.5 * 20.8 * 20.8, 0.01);
  free_case(made);
}

static void offset_is_the_error(void **state) {
  (void)state;
  struct bw_case *made = profile_case();
  const struct bw_drive_index index = driven(made, 1.0, 0.37);
  CHECK_CLOSE(bw_drive_index_error(&index), 0.37, 1e-12);
  /* derived: the same rise at a speed that is 0.37 m/s higher, (v^2/2 + 0.37 v)/(v^2/2) */
  CHECK_CLOSE(bw_drive_index_work(&index), 0.37 / (0.5 * 20.8), 3e-4);
  free_case(made);
}

/* derived: speed and acceleration both scale, so work goes with the square */
static void work_goes_with_the_square_of_speed(void **state) {
  (void)state;
  struct bw_case *made = profile_case();
  const struct bw_drive_index fast = driven(made, 1.03, 0.0);
  CHECK_CLOSE(bw_drive_index_work(&fast), 1.03 * 1.03 - 1.0, 1e-12);
  const struct bw_drive_index slow = driven(made, 0.98, 0.0);
  CHECK_CLOSE(bw_drive_index_work(&slow), 0.98 * 0.98 - 1.0, 1e-12);
  free_case(made);
}

/* periods that share no instant with a tenth of a second see the same */
static void odd_periods_see_the_same(void **state) {
  (void)state;
  struct bw_case *made = profile_case();
  struct bw_drive_index index = {0};
  const double period = 0.247;
  for (int k = 0; (double)k * period < 43.0; k++) {
    const double time = (double)k * period;
    const struct bw_sample sample = {.time = time,
                                     .duration = period,
                                     .speed_start = profile(time) + 0.2,
                                     .speed_end = profile(time + period) + 0.2};
    bw_drive_index_watch(&index, &made->trace, &sample);
  }
  assert_int_equal(index.count, 433); /* up to the end of the last period */
  CHECK_CLOSE(bw_drive_index_error(&index), 0.2, 0.01);
  free_case(made);
}

static void nothing_seen_is_no_number(void **state) {
  (void)state;
  const struct bw_drive_index index = {0};
  assert_true(isnan(bw_drive_index_error(&index)));
  assert_true(isnan(bw_drive_index_work(&index)));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(true_drive_has_no_error),
      cmocka_unit_test(offset_is_the_error),
      cmocka_unit_test(work_goes_with_the_square_of_speed),
      cmocka_unit_test(odd_periods_see_the_same),
      cmocka_unit_test(nothing_seen_is_no_number),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
