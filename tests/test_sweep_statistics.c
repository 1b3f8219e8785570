/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statistics of sweeps: quantiles of any number of values, sensitivity indices. */
#include "check.h"

#include "case_files.h"

#include "batch/draws.h"
#include "batch/selection.h"
#include "batch/sobol_index.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <string.h>

#define PI 3.14159265358979323846

/* ------------------------------------------------------------------ quantiles of values */

struct list {
  const double *value;
  size_t count;
};

static size_t read_list(void *context, size_t from, double *values, size_t room) {
  const struct list *list = context;
  const size_t left = from < list->count ? list->count - from : 0;
  const size_t n = left < room ? left : room;
  memcpy(values, list->value + from, n * sizeof *values);
  return n;
}

/* the other way: all values sorted in memory, by GSL */
static void selected_quantiles_are_those_of_sorted_values(void **state) {
  (void)state;
  static double value[3000];
  static double sorted[3000];
  static const double share[] = {0.0, 0.01, 0.05, 0.5, 0.95, 0.99, 1.0};
  static const size_t counts[] = {1, 2, 7, 255, 256, 257, 3000};
  uint64_t seed = 20261126;
  for (size_t c = 0; c < sizeof counts / sizeof counts[0]; c++) {
    size_t finite = 0;
    for (size_t i = 0; i < counts[c]; i++) {
      const double drawn = test_uniform(&seed, -1.0, 1.0);
      /* ties, zeros, both signs, many sizes, and some that are missing */
      value[i] = i % 11 == 5   ? (double)NAN
                 : i % 7 == 3  ? 0.0
                 : i % 13 == 2 ? -237.25
                               : drawn * pow(10.0, (double)(i % 40) - 20.0);
      if (isfinite(value[i])) {
        sorted[finite++] = value[i];
      }
    }
    gsl_sort(sorted, 1, finite);
    struct list list = {value, counts[c]};
    const struct bw_values values = {&list, read_list};
    double quantile[7];
    bw_select_quantiles(&values, finite, share, 7, quantile);
    for (size_t i = 0; i < 7; i++) {
      const double wanted = gsl_stats_quantile_from_sorted_data(sorted, 1, finite, share[i]);
      CHECK_CLOSE(quantile[i], wanted, 1e-12 * fabs(wanted));
    }
  }
}

/* ------------------------------------------------------------------ sensitivity */

/* Ishigami and Homma 1990 (ISUMA '90, p. 398): f = sin x1 + a sin2 x2 + b x3^4 sin x1, x uniform in
 * -pi .. pi, here with the usual a = 7, b = 0.1. Its indices follow in closed form (derived; the
 * same figures stand in Saltelli et al., Global Sensitivity Analysis, 2008, from memory):
 *   V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V13 = b^2 pi^8 (1/18 - 1/50), V = V1 + V2 + V13
 *   S1 = V1/V = 0.3139, S2 = V2/V = 0.4424, S3 = 0
 *   ST1 = (V1 + V13)/V = 0.5576, ST2 = S2, ST3 = V13/V = 0.2437 */
static double ishigami(const double x[3]) {
  return sin(x[0]) + 7.0 * sin(x[1]) * sin(x[1]) + 0.1 * pow(x[2], 4.0) * sin(x[0]);
}

static double ishigami_of(struct bw_draws *draws, size_t row) {
  double x[3];
  for (size_t i = 0; i < 3; i++) {
    x[i] = PI * (bw_draws_value(draws, row, i) - (i == 0 ? 50.0 : 51.0)) / 50.0;
  }
  return ishigami(x);
}

/* the interval is 1.96 standard errors to each side; 3.9 are passed once in ten thousand */
static void check_estimate(struct bw_sobol_estimate estimate, double wanted, double off,
                           double width) {
  CHECK_CLOSE(estimate.value, wanted, off);
  CHECK_CLOSE(estimate.value, wanted, estimate.high - estimate.low);
  CHECK_WITHIN(estimate.value, estimate.low, estimate.high);
  CHECK_WITHIN(estimate.high - estimate.low, 0.0, width);
}

static void indices_are_those_of_ishigami(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  struct bw_case *loaded =
      files_load(&files, "tolerances: { battery: { soc_percent = \"uniform:0:100\"; };"
                         " friction: { front: { lag_ms = \"uniform:1:101\"; };"
                         " rear: { lag_ms = \"uniform:1:101\"; }; }; };\n");
  const double v1 = 0.5 * pow(1.0 + 0.1 * pow(PI, 4.0) / 5.0, 2.0);
  const double v2 = 49.0 / 8.0;
  const double v13 = 0.01 * pow(PI, 8.0) * (1.0 / 18.0 - 1.0 / 50.0);
  const double v = v1 + v2 + v13;
  CHECK_CLOSE(v1 / v, 0.3139, 5e-5); /* the published figures */
  CHECK_CLOSE(v2 / v, 0.4424, 5e-5);
  CHECK_CLOSE((v1 + v13) / v, 0.5576, 5e-5);
  CHECK_CLOSE(v13 / v, 0.2437, 5e-5);
  for (int random = 0; random < 2; random++) {
    const struct bw_draws_setup setup = {.count = 8192,
                                         .sampling =
                                             random ? BW_SAMPLING_RANDOM : BW_SAMPLING_SOBOL,
                                         .seed = 3,
                                         .is_sensitivity = true};
    struct bw_draws *draws = NULL;
    struct bw_sobol *sobol = bw_sobol_create(3);
    struct bw_sobol_estimate first[3];
    struct bw_sobol_estimate total[3];
    assert_int_equal(bw_draws_create(loaded, &setup, &draws, NULL), BW_OK);
    bw_sobol_start(sobol, 3.4);
    for (size_t row = 0; row < bw_draws_rows(draws); row += 5) {
      double f[5];
      for (size_t part = 0; part < 5; part++) {
        f[part] = ishigami_of(draws, row + part);
      }
      bw_sobol_add(sobol, f);
    }
    assert_true(bw_sobol_indices(sobol, first, total));
    const double width = random ? 0.08 : 0.07;
    const double off = random ? 0.03 : 0.01;
    check_estimate(first[0], v1 / v, off, width);
    check_estimate(first[1], v2 / v, off, width);
    check_estimate(first[2], 0.0, off, width);
    check_estimate(total[0], (v1 + v13) / v, off, width);
    check_estimate(total[1], v2 / v, off, width);
    check_estimate(total[2], v13 / v, off, width);
    bw_sobol_destroy(sobol);
    bw_draws_destroy(draws);
  }
  bw_case_destroy(loaded);
  files_end(&files);
}

static void indices_of_a_constant_are_not_there(void **state) {
  (void)state;
  struct bw_sobol *sobol = bw_sobol_create(2);
  struct bw_sobol_estimate first[2];
  struct bw_sobol_estimate total[2];
  const double f[4] = {0.1, 0.1, 0.1, 0.1};
  bw_sobol_start(sobol, 0.1 + 1e-17);
  bw_sobol_add(sobol, f);
  assert_false(bw_sobol_indices(sobol, first, total));
  for (int i = 0; i < 500; i++) {
    bw_sobol_add(sobol, f);
  }
  assert_false(bw_sobol_indices(sobol, first, total));
  bw_sobol_destroy(sobol);
}

/* y = 3 x1 + x2: S1 = ST1 = 9/10, S2 = ST2 = 1/10, whatever is added to y (derived) */
static void indices_do_not_depend_on_the_level(void **state) {
  (void)state;
  for (int i = 0; i < 2; i++) {
    const double level = i == 0 ? 0.0 : 5e4;
    struct bw_sobol *sobol = bw_sobol_create(2);
    struct bw_sobol_estimate first[2];
    struct bw_sobol_estimate total[2];
    uint64_t seed = 77;
    bw_sobol_start(sobol, level + 2.0);
    for (int k = 0; k < 20000; k++) {
      double x[4];
      for (int j = 0; j < 4; j++) {
        x[j] = test_uniform(&seed, 0.0, 1.0);
      }
      const double f[4] = {level + 3.0 * x[0] + x[1], level + 3.0 * x[2] + x[3],
                           level + 3.0 * x[2] + x[1], level + 3.0 * x[0] + x[3]};
      bw_sobol_add(sobol, f);
    }
    assert_true(bw_sobol_indices(sobol, first, total));
    check_estimate(first[0], 0.9, 0.03, 0.05);
    check_estimate(first[1], 0.1, 0.03, 0.05);
    check_estimate(total[0], 0.9, 0.03, 0.05);
    check_estimate(total[1], 0.1, 0.03, 0.05);
    bw_sobol_destroy(sobol);
  }
}

/* 95 % of the intervals hold the true index; 400 trials leave 1.1 % to each standard error. The
 * bootstrap is known to fall somewhat short with few draws. */
static void intervals_hold_the_truth_as_often_as_they_say(void **state) {
  (void)state;
  enum { TRIALS = 400, DRAWS = 600 };
  size_t held[2] = {0, 0};
  uint64_t seed = 4711;
  struct bw_sobol *sobol = bw_sobol_create(2);
  for (int trial = 0; trial < TRIALS; trial++) {
    struct bw_sobol_estimate first[2];
    struct bw_sobol_estimate total[2];
    bw_sobol_start(sobol, 2.0);
    for (int k = 0; k < DRAWS; k++) {
      double x[4];
      for (int j = 0; j < 4; j++) {
        x[j] = test_uniform(&seed, 0.0, 1.0);
      }
      const double f[4] = {3.0 * x[0] + x[1], 3.0 * x[2] + x[3], 3.0 * x[2] + x[1],
                           3.0 * x[0] + x[3]};
      bw_sobol_add(sobol, f);
    }
    assert_true(bw_sobol_indices(sobol, first, total));
    held[0] += first[0].low <= 0.9 && 0.9 <= first[0].high ? 1 : 0;
    held[1] += total[1].low <= 0.1 && 0.1 <= total[1].high ? 1 : 0;
  }
  bw_sobol_destroy(sobol);
  CHECK_WITHIN((double)held[0] / TRIALS, 0.91, 0.99);
  CHECK_WITHIN((double)held[1] / TRIALS, 0.91, 0.99);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(selected_quantiles_are_those_of_sorted_values),
      cmocka_unit_test(indices_are_those_of_ishigami),
      cmocka_unit_test(indices_of_a_constant_are_not_there),
      cmocka_unit_test(indices_do_not_depend_on_the_level),
      cmocka_unit_test(intervals_hold_the_truth_as_often_as_they_say),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
