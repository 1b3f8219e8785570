/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "model/decay.h"
#include "model/table.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <gsl/gsl_interp2d.h>
#include <string.h>

enum { POINTS = 9, NX = 7, NY = 5 };

static const double X[POINTS] = {-3.7, -1.13, 0.21, 0.94, 2.6, 3.05, 7.7, 11.9, 23.3};
static const double Y[POINTS] = {5.1, -2.3, -2.3, 8.8, 13.7, 1.9, 0.4, 44.1, 39.7};

static struct bw_table1 made1(void) {
  struct bw_table1 table;
  assert_int_equal(bw_table1_make(X, Y, POINTS, &table, NULL), BW_OK);
  return table;
}

/* reference: GSL 2.7, gsl_interp_linear */
static void table1_agrees_with_gsl(void **state) {
  (void)state;
  const struct bw_table1 table = made1();
  gsl_interp *linear = gsl_interp_alloc(gsl_interp_linear, POINTS);
  gsl_interp_init(linear, X, Y, POINTS);
  uint64_t seed = 2107;
  for (int i = 0; i < 20000; i++) {
    const double x = test_uniform(&seed, X[0], X[POINTS - 1]);
    CHECK_CLOSE(bw_table1_at(&table, x), gsl_interp_eval(linear, X, Y, x, NULL), 1e-12);
    const double integral = gsl_interp_eval_integ(linear, X, Y, X[0], x, NULL);
    CHECK_CLOSE(bw_table1_integral(&table, x), integral, 1e-11);
  }
  gsl_interp_free(linear);
}

static void table1_mean_agrees_with_gsl(void **state) {
  (void)state;
  const struct bw_table1 table = made1();
  gsl_interp *linear = gsl_interp_alloc(gsl_interp_linear, POINTS);
  gsl_interp_init(linear, X, Y, POINTS);
  uint64_t seed = 977;
  for (int i = 0; i < 20000; i++) {
    const double a = test_uniform(&seed, X[0], X[POINTS - 1]);
    const double b = test_uniform(&seed, X[0], X[POINTS - 1]);
    if (!(fabs(b - a) > 0.01)) {
      continue;
    }
    const double low = a < b ? a : b;
    const double high = a < b ? b : a;
    const double mean = gsl_interp_eval_integ(linear, X, Y, low, high, NULL) / (high - low);
    CHECK_CLOSE(bw_table1_mean(&table, a, b - a), mean, 1e-10);
  }
  gsl_interp_free(linear);
}

static void table1_mean_keeps_its_digits_over_short_ways(void **state) {
  (void)state;
  const struct bw_table1 table = made1();
  /* closed form: over a straight piece the mean is the value in the middle; across a point it
   * lies between the two pieces' means. A difference of integrals would lose nine digits here. */
  const double slope = (13.7 - 8.8) / (2.6 - 0.94);
  const double width = 1e-9;
  CHECK_CLOSE(bw_table1_mean(&table, 1.7, width), 8.8 + slope * (1.7 + 0.5 * width - 0.94), 1e-14);
  CHECK_CLOSE(bw_table1_mean(&table, 1.7, -width), 8.8 + slope * (1.7 - 0.5 * width - 0.94), 1e-14);
  const double left = 8.8 - slope * 0.0;
  const double before = (8.8 + 2.3) / (0.94 - 0.21);
  CHECK_CLOSE(bw_table1_mean(&table, 0.94 - 0.5 * width, width),
              left + width / 8.0 * (slope - before), 1e-14);
  CHECK_CLOSE(bw_table1_mean(&table, 1.7, 0.0), bw_table1_at(&table, 1.7), 0.0);
  /* held outside: half of the way at the first value */
  CHECK_CLOSE(bw_table1_mean(&table, -4.7, 1.5),
              (1.0 * 5.1 + 0.5 * (5.1 - 0.25 * 7.4 / 2.57)) / 1.5, 1e-12);
  CHECK_CLOSE(bw_table1_mean(&table, 30.0, 5.0), 39.7, 0.0);
}

static void table1_holds_its_ends_and_its_points(void **state) {
  (void)state;
  const struct bw_table1 table = made1();
  for (size_t i = 0; i < POINTS; i++) {
    CHECK_CLOSE(bw_table1_at(&table, X[i]), Y[i], 0.0);
  }
  CHECK_CLOSE(bw_table1_at(&table, -1e30), 5.1, 0.0);
  CHECK_CLOSE(bw_table1_at(&table, 1e30), 39.7, 0.0);
  CHECK_CLOSE(bw_table1_at(&table, (double)NAN), 5.1, 0.0);
  CHECK_CLOSE(bw_table1_integral(&table, -5.7), -2.0 * 5.1, 1e-13);
  CHECK_CLOSE(bw_table1_integral(&table, 25.3) - bw_table1_integral(&table, 23.3), 2.0 * 39.7,
              1e-11);
  CHECK_CLOSE(bw_table1_integral(&table, (double)NAN), 0.0, 0.0);
  assert_int_equal(bw_table1_segment(&table, -9.0), 0);
  assert_int_equal(bw_table1_segment(&table, 2.6), 4);
  assert_int_equal(bw_table1_segment(&table, 99.0), POINTS - 1);
}

static void table1_of_one_point_is_a_constant(void **state) {
  (void)state;
  struct bw_table1 table;
  const double x = 293.15;
  const double y = 187.3;
  assert_int_equal(bw_table1_make(&x, &y, 1, &table, NULL), BW_OK);
  for (int i = -1; i <= 1; i++) {
    CHECK_CLOSE(bw_table1_at(&table, x + i), y, 0.0);
    CHECK_CLOSE(bw_table1_integral(&table, x + i), i * y, 1e-12);
    CHECK_CLOSE(bw_table1_mean(&table, x + i, 0.7), y, 0.0);
  }
}

static void check_refused1(const double *x, const double *y, size_t n, const char *reason) {
  struct bw_table1 table = made1();
  const struct bw_table1 before = table;
  struct bw_diag diag = {0};
  assert_int_equal(bw_table1_make(x, y, n, &table, &diag), BW_E_RANGE);
  assert_memory_equal(&table, &before, sizeof table);
  assert_int_equal(diag.count, 1);
  if (strstr(diag.line[0], reason) == NULL) {
    print_error("'%s' does not say '%s'\n", diag.line[0], reason);
    fail();
  }
}

static void table1_refuses_what_it_cannot_hold(void **state) {
  (void)state;
  double many[BW_TABLE1_MAX + 1];
  for (size_t i = 0; i <= BW_TABLE1_MAX; i++) {
    many[i] = (double)i;
  }
  check_refused1(many, many, 0, "has 0 points");
  check_refused1(many, many, BW_TABLE1_MAX + 1, "has 129 points");
  check_refused1((const double[]){1.0, 3.0, 2.0}, many, 3, "does not rise at point 3");
  check_refused1((const double[]){1.0, 1.0}, many, 2, "does not rise at point 2");
  check_refused1((const double[]){1.0, (double)NAN}, many, 2, "point 2 is not a finite");
  check_refused1(many, (const double[]){1.0, (double)INFINITY}, 2, "value 2 is not a finite");
  check_refused1((const double[]){0.0, 1e-300}, (const double[]){0.0, 1e30}, 2, "too steep");
  struct bw_table1 full;
  assert_int_equal(bw_table1_make(many, many, BW_TABLE1_MAX, &full, NULL), BW_OK);
  CHECK_CLOSE(bw_table1_at(&full, 126.5), 126.5, 1e-12);
}

enum { NZ = NX * NY };
static const double MX[NX] = {0.0, 37.0, 61.0, 240.0, 300.5, 777.0, 1187.0};
static const double MY[NY] = {-1.5, 0.0, 12.7, 140.0, 237.0};

static struct bw_table2 made2(double *z) {
  uint64_t seed = 31;
  for (size_t i = 0; i < NZ; i++) {
    z[i] = test_uniform(&seed, -50.0, 400.0);
  }
  struct bw_table2 table;
  assert_int_equal(bw_table2_make(MX, NX, MY, NY, z, &table, NULL), BW_OK);
  return table;
}

/* reference: GSL 2.7, gsl_interp2d_bilinear */
static void table2_agrees_with_gsl(void **state) {
  (void)state;
  double z[NZ];
  const struct bw_table2 table = made2(z);
  gsl_interp2d *bilinear = gsl_interp2d_alloc(gsl_interp2d_bilinear, NX, NY);
  double zt[NZ]; /* GSL keeps x first: z[j * nx + i] */
  for (size_t i = 0; i < NX; i++) {
    for (size_t j = 0; j < NY; j++) {
      gsl_interp2d_set(bilinear, zt, i, j, z[i * NY + j]);
    }
  }
  gsl_interp2d_init(bilinear, MX, MY, zt, NX, NY);
  uint64_t seed = 4;
  for (int i = 0; i < 20000; i++) {
    const double x = test_uniform(&seed, MX[0], MX[NX - 1]);
    const double y = test_uniform(&seed, MY[0], MY[NY - 1]);
    const double wanted = gsl_interp2d_eval(bilinear, MX, MY, zt, x, y, NULL, NULL);
    CHECK_CLOSE(bw_table2_at(&table, x, y), wanted, 1e-11);
  }
  gsl_interp2d_free(bilinear);
}

static void table2_holds_its_edges(void **state) {
  (void)state;
  double z[NZ];
  const struct bw_table2 table = made2(z);
  for (size_t i = 0; i < NX; i++) {
    for (size_t j = 0; j < NY; j++) {
      CHECK_CLOSE(bw_table2_at(&table, MX[i], MY[j]), z[i * NY + j], 0.0);
    }
    CHECK_CLOSE(bw_table2_at(&table, MX[i], -9.0), z[i * NY], 0.0);
    CHECK_CLOSE(bw_table2_at(&table, MX[i], 900.0), z[i * NY + NY - 1], 0.0);
  }
  CHECK_CLOSE(bw_table2_at(&table, -5.0, 6e3), z[NY - 1], 0.0);
  CHECK_CLOSE(bw_table2_at(&table, 5e4, -6e3), z[NZ - NY], 0.0);
  CHECK_CLOSE(bw_table2_at(&table, (double)NAN, (double)NAN), z[0], 0.0);
  const struct bw_table_place place = bw_table2_place_x(&table, 49.0);
  assert_int_equal(place.low, 1);
  assert_int_equal(place.high, 2);
  CHECK_CLOSE(place.share, 0.5, 1e-15);
}

static void table2_refuses_what_it_cannot_hold(void **state) {
  (void)state;
  double z[NZ];
  struct bw_table2 table = made2(z);
  const struct bw_table2 before = table;
  const double falling[2] = {2.0, 1.0};
  struct bw_diag diag = {0};
  assert_int_equal(bw_table2_make(falling, 2, MY, NY, z, &table, &diag), BW_E_RANGE);
  assert_int_equal(bw_table2_make(MX, NX, falling, 2, z, &table, &diag), BW_E_RANGE);
  assert_int_equal(bw_table2_make(MX, 0, MY, NY, z, &table, &diag), BW_E_RANGE);
  assert_int_equal(bw_table2_make(MX, NX, MY, BW_TABLE2_MAX + 1, z, &table, &diag), BW_E_RANGE);
  z[17] = (double)NAN;
  assert_int_equal(bw_table2_make(MX, NX, MY, NY, z, &table, &diag), BW_E_RANGE);
  assert_memory_equal(&table, &before, sizeof table);
  assert_int_equal(diag.count, 5);
  assert_non_null(strstr(diag.line[1], "map axis 2"));
  assert_non_null(strstr(diag.line[4], "value 18"));
}

/* reference: the C library's expm1 in extended precision (GSL's exprel loses digits near 0.002) */
static void decay_mean_agrees_with_expm1(void **state) {
  (void)state;
  uint64_t seed = 12;
  CHECK_CLOSE(bw_decay_mean(0.0), 1.0, 0.0);
  for (int i = 0; i < 20000; i++) {
    const double x = pow(10.0, test_uniform(&seed, -9.0, 2.5));
    CHECK_RELATIVE(bw_decay_mean(x), (double)(-expm1l(-(long double)x) / (long double)x), 5e-16);
  }
  /* the two branches meet */
  CHECK_RELATIVE(bw_decay_mean(0.02), bw_decay_mean(nextafter(0.02, 0.0)), 1e-15);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(table1_agrees_with_gsl),
      cmocka_unit_test(table1_mean_agrees_with_gsl),
      cmocka_unit_test(table1_mean_keeps_its_digits_over_short_ways),
      cmocka_unit_test(table1_holds_its_ends_and_its_points),
      cmocka_unit_test(table1_of_one_point_is_a_constant),
      cmocka_unit_test(table1_refuses_what_it_cannot_hold),
      cmocka_unit_test(table2_agrees_with_gsl),
      cmocka_unit_test(table2_holds_its_edges),
      cmocka_unit_test(table2_refuses_what_it_cannot_hold),
      cmocka_unit_test(decay_mean_agrees_with_expm1),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
