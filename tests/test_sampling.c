/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tolerances: how they are declared, their quantiles, draws. */
#include "check.h"

#include "case_files.h"

#include "batch/draws.h"
#include "batch/quantile.h"
#include "input/distribution.h"

#include <gsl/gsl_integration.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sort.h>
#include <string.h>

/* ------------------------------------------------------------------ declared distributions */

static const struct bw_param LAG = {
    "friction.front.lag_ms", BW_PARAM_NUMBER, "ms", 0.0, 500.0, 70.0, "", false, "of a test"};

static struct bw_distribution parsed(const char *text) {
  struct bw_distribution read = {0};
  char why[BW_DISTRIBUTION_WHY_MAX] = "";
  if (!bw_distribution_parse(text, &LAG, &read, why)) {
    fail_msg("'%s' was refused: %s", text, why);
  }
  return read;
}

static void distributions_are_read_as_written(void **state) {
  (void)state;
  struct bw_distribution it = parsed("normal:7.5");
  assert_int_equal(it.kind, BW_DISTRIBUTION_NORMAL);
  assert_false(it.has_centre);
  CHECK_CLOSE(it.deviation, 7.5, 0.0);
  it = parsed("bounded:61:7.5:40:90");
  assert_true(it.has_centre);
  CHECK_CLOSE(it.centre, 61.0, 0.0);
  CHECK_CLOSE(it.deviation, 7.5, 0.0);
  CHECK_CLOSE(it.min, 40.0, 0.0);
  CHECK_CLOSE(it.max, 90.0, 0.0);
  it = parsed("triangular:40:61:90");
  CHECK_CLOSE(it.centre, 61.0, 0.0);
  CHECK_CLOSE(it.max, 90.0, 0.0);
  it = parsed("triangular:40:90");
  assert_false(it.has_centre);
  CHECK_CLOSE(it.max, 90.0, 0.0);
}

static void bad_distributions_are_refused(void **state) {
  (void)state;
  static const char *const bad[] = {"",
                                    "norm:3",
                                    "normal",
                                    "normal:",
                                    "normal:0",
                                    "normal:-3",
                                    "normal:nan",
                                    "normal:600:3",
                                    "normal:1:2:3",
                                    "normal:1:2:3:4:5",
                                    "uniform:5",
                                    "uniform:50:40",
                                    "uniform:40:40",
                                    "uniform:-1:40",
                                    "uniform:40:501",
                                    "uniform:40:60x",
                                    "triangular:40:95:90",
                                    "triangular:40:30:90",
                                    "bounded:3:40",
                                    "bounded:-3:40:90",
                                    "bounded:3:90:40"};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct bw_distribution read = {.deviation = 237.0};
    char why[BW_DISTRIBUTION_WHY_MAX] = "";
    if (bw_distribution_parse(bad[i], &LAG, &read, why)) {
      fail_msg("'%s' was taken", bad[i]);
    }
    assert_non_null(strstr(why, "; "));
    CHECK_CLOSE(read.deviation, 237.0, 0.0); /* untouched */
  }
}

/* ------------------------------------------------------------------ quantile functions */

/* what lies below x, from the density alone: derived for the test, by numerical integration */
static double density(double x, void *context) {
  const struct bw_distribution *it = context;
  if (it->kind != BW_DISTRIBUTION_NORMAL && (x < it->min || x > it->max)) {
    return 0.0;
  }
  const double width = it->max - it->min;
  switch (it->kind) {
  case BW_DISTRIBUTION_NORMAL:
  case BW_DISTRIBUTION_BOUNDED:
    return gsl_ran_gaussian_pdf(x - it->centre, it->deviation);
  case BW_DISTRIBUTION_UNIFORM:
    return 1.0 / width;
  case BW_DISTRIBUTION_TRIANGULAR:
    return x < it->centre ? 2.0 * (x - it->min) / (width * (it->centre - it->min))
                          : 2.0 * (it->max - x) / (width * (it->max - it->centre));
  }
  return (double)NAN;
}

/* Gauss-Legendre of 20 points on 40 pieces either side of the kink */
static double integral(struct bw_distribution *it, double from, double to) {
  gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(20);
  const gsl_function f = {density, it};
  const double kink = fmin(fmax(it->centre, from), to);
  double sum = 0.0;
  for (int i = 0; i < 80; i++) {
    const double start = i < 40 ? from : kink;
    const double width = (i < 40 ? kink - from : to - kink) / 40.0;
    const double at = start + (double)(i % 40) * width;
    sum += width > 0.0 ? gsl_integration_glfixed(&f, at, at + width, table) : 0.0;
  }
  gsl_integration_glfixed_table_free(table);
  return sum;
}

static void quantiles_are_those_of_the_density(void **state) {
  (void)state;
  static const char *const text[] = {
      "normal:61:7.5", "bounded:61:7.5:55:90", "bounded:61:7.5:85:95", "bounded:61:7.5:20:35",
      "uniform:40:90", "triangular:40:61:90",  "triangular:40:40:90",  "triangular:40:90:90"};
  static const double share[] = {1e-4, 0.013, 0.25, 0.5, 0.77, 0.9, 0.9999};
  for (size_t i = 0; i < sizeof text / sizeof text[0]; i++) {
    struct bw_distribution it = parsed(text[i]);
    const double low = it.kind == BW_DISTRIBUTION_NORMAL ? it.centre - 12.0 * it.deviation : it.min;
    const double high =
        it.kind == BW_DISTRIBUTION_NORMAL ? it.centre + 12.0 * it.deviation : it.max;
    if (it.kind == BW_DISTRIBUTION_UNIFORM) {
      it.centre = 0.5 * (low + high); /* a knot for the integration */
    }
    const double whole = integral(&it, low, high);
    for (size_t k = 0; k < sizeof share / sizeof share[0]; k++) {
      const double x = bw_quantile(&it, share[k]);
      CHECK_WITHIN(x, low, high);
      CHECK_CLOSE(integral(&it, low, x) / whole, share[k], 2e-9);
    }
  }
}

/* ------------------------------------------------------------------ draws */

static const char THREE[] = "tolerances: { battery: { soc_percent = \"uniform:40:90\"; };"
                            " friction: { front: { lag_ms = \"bounded:60:9:40:85\"; };"
                            " rear: { lag_ms = \"normal:61:4\"; }; }; };\n";

/* the largest distance between the shares of the draws and those of the distribution */
static double distance(struct bw_draws *draws, size_t key, const struct bw_distribution *it) {
  static double value[4096];
  const size_t n = bw_draws_rows(draws);
  double worst = 0.0;
  assert_true(n <= 4096);
  for (size_t i = 0; i < n; i++) {
    value[i] = bw_draws_value(draws, i, key);
  }
  gsl_sort(value, 1, n);
  for (size_t i = 0; i < n; i++) {
    const double share = ((double)i + 0.5) / (double)n;
    /* a distance in shares: between which quantiles the value lies */
    double low = 0.0;
    double high = 1.0;
    for (int step = 0; step < 40; step++) {
      const double middle = 0.5 * (low + high);
      *(bw_quantile(it, middle) < value[i] ? &low : &high) = middle;
    }
    worst = fmax(worst, fabs(low - share));
  }
  return worst;
}

/* Kolmogorov-Smirnov: 1 % of random samples of n are farther than 1.63/sqrt(n) (tabled constant,
 * from memory). Sobol' draws lie far closer: n D* <= C log2(n) per coordinate, derived for one
 * coordinate, which is a van der Corput sequence. */
static void draws_follow_their_distributions(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  struct bw_case *loaded = files_load(&files, THREE);
  assert_int_equal(loaded->tolerance_count, 3);
  for (int random = 0; random < 2; random++) {
    const struct bw_draws_setup setup = {
        .count = 4096, .sampling = random ? BW_SAMPLING_RANDOM : BW_SAMPLING_SOBOL, .seed = 5};
    struct bw_draws *draws = NULL;
    assert_int_equal(bw_draws_create(loaded, &setup, &draws, NULL), BW_OK);
    for (size_t key = 0; key < 3; key++) {
      const double limit = random ? 1.63 / 64.0 : 13.0 / 4096.0;
      CHECK_WITHIN(distance(draws, key, &loaded->tolerance[key].distribution), 0.0, limit);
    }
    bw_draws_destroy(draws);
  }
  bw_case_destroy(loaded);
  files_end(&files);
}

static void draws_do_not_depend_on_the_order_asked(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  struct bw_case *loaded = files_load(&files, THREE);
  for (int random = 0; random < 2; random++) {
    struct bw_draws_setup setup = {.count = 37,
                                   .sampling = random ? BW_SAMPLING_RANDOM : BW_SAMPLING_SOBOL,
                                   .is_sensitivity = true};
    struct bw_draws *one = NULL;
    struct bw_draws *two = NULL;
    struct bw_draws *other = NULL;
    assert_int_equal(bw_draws_create(loaded, &setup, &one, NULL), BW_OK);
    assert_int_equal(bw_draws_create(loaded, &setup, &two, NULL), BW_OK);
    setup.seed = 8;
    assert_int_equal(bw_draws_create(loaded, &setup, &other, NULL), BW_OK);
    const size_t rows = bw_draws_rows(one);
    assert_int_equal(rows, 37 * 5);
    size_t differing = 0;
    for (size_t row = 0; row < rows; row++) {
      const size_t back = rows - 1 - row;
      CHECK_CLOSE(bw_draws_value(one, back, 1), bw_draws_value(two, back, 1), 0.0);
      const double value = bw_draws_value(one, row, 2);
      CHECK_CLOSE(bw_draws_value(two, row, 2), value, 0.0);
      differing += fabs(bw_draws_value(other, row, 2) - value) > 0.0 ? 1 : 0;
    }
    assert_true(differing > 180);
    /* parts: A, B, then A with one key from B */
    assert_string_equal(bw_draws_part(one, 10), "A");
    assert_string_equal(bw_draws_part(one, 11), "B");
    assert_string_equal(bw_draws_part(one, 13), "friction.front.lag_ms");
    CHECK_CLOSE(bw_draws_value(one, 13, 1), bw_draws_value(one, 11, 1), 0.0);
    CHECK_CLOSE(bw_draws_value(one, 13, 0), bw_draws_value(one, 10, 0), 0.0);
    CHECK_CLOSE(bw_draws_value(one, 13, 2), bw_draws_value(one, 10, 2), 0.0);
    bw_draws_destroy(one);
    bw_draws_destroy(two);
    bw_draws_destroy(other);
  }
  bw_case_destroy(loaded);
  files_end(&files);
}

static void draws_that_cannot_be_made_are_refused(void **state) {
  (void)state;
  static const struct {
    const char *text;
    struct bw_draws_setup setup;
    const char *says;
  } bad[] = {
      {"", {.count = 5}, "declares no tolerances"},
      {"tolerances: { battery: { soc_percent = \"uniform:40:90\"; }; };\n", {0}, "out of range"},
      {"tolerances: { battery: { soc_percent = \"uniform:40:90\"; }; };\n",
       {.count = BW_DRAWS_MAX + 1},
       "out of range"},
      /* the charge cannot be above 100 %: the cut has to be declared */
      {"tolerances: { battery: { soc_percent = \"normal:95:5\"; }; };\n",
       {.count = 64},
       "declare bounded"},
      {"tolerances: { battery: { soc_percent = \"bounded:10:0.5:60:90\"; }; };\n",
       {.count = 64},
       "nearly nothing"},
      {"battery: { soc_percent = 30.0; };\n"
       "tolerances: { battery: { soc_percent = \"triangular:60:90\"; }; };\n",
       {.count = 64},
       "lies outside"},
  };
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct test_files files;
    files_begin(&files);
    struct bw_case *loaded = files_load(&files, bad[i].text);
    struct bw_draws *draws = NULL;
    struct bw_diag diag = {0};
    assert_int_equal(bw_draws_create(loaded, &bad[i].setup, &draws, &diag), BW_E_USAGE);
    assert_null(draws);
    if (strstr(diag.line[0], bad[i].says) == NULL) {
      fail_msg("'%s' does not say '%s'", diag.line[0], bad[i].says);
    }
    bw_case_destroy(loaded);
    files_end(&files);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(distributions_are_read_as_written),
      cmocka_unit_test(bad_distributions_are_refused),
      cmocka_unit_test(quantiles_are_those_of_the_density),
      cmocka_unit_test(draws_follow_their_distributions),
      cmocka_unit_test(draws_do_not_depend_on_the_order_asked),
      cmocka_unit_test(draws_that_cannot_be_made_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
