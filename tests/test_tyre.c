/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "model/surface.h"
#include "model/tyre.h"

#include <string.h>

/** Tyre curves and grip along the way. TYR-n number the project's list of physics checks. */

static struct bw_tyre published(enum bw_tyre_surface surface) {
  struct bw_tyre tyre = {.surface = surface, .low_speed = 0.1};
  assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
  return tyre;
}

static void tyr_1_to_7_burckhardt(void **state) {
  (void)state;
  /* TYR-1..7: coefficients quoted (1, 2) or from memory; s*, mu*, mu(1), slope derived from them */
  const double want[7][4] = {{0.1700, 1.1700, 0.7601, 30.19}, {0.1308, 0.8013, 0.5100, 28.64},
                             {0.1600, 1.0900, 0.6600, 29.60}, {0.4000, 1.0000, 0.7000, 8.19},
                             {0.1400, 0.3800, 0.2800, 13.38}, {0.0600, 0.1900, 0.1300, 18.25},
                             {0.0314, 0.0500, 0.0490, 15.32}};
  for (int i = 0; i < 7; i++) {
    const struct bw_tyre tyre = published((enum bw_tyre_surface)i);
    double slope = 0.0;
    CHECK_CLOSE(tyre.peak_slip, want[i][0], 6e-5);
    CHECK_CLOSE(tyre.peak, want[i][1], 6e-5);
    CHECK_CLOSE(bw_tyre_friction(&tyre, 1.0, 1.0, &slope), want[i][2], 6e-5);
    CHECK_CLOSE(tyre.stiffness, want[i][3], 6e-3);
    CHECK_CLOSE(bw_tyre_friction(&tyre, 1.0, tyre.peak_slip, &slope), tyre.peak, 1e-15);
    CHECK_CLOSE(slope, 0.0, 1e-9);
  }
}

static void small_slip_of_the_list(void **state) {
  (void)state;
  /* section 4a, derived from remembered coefficients: slip needed for a friction */
  const struct {
    enum bw_tyre_surface surface;
    double slip;
    double mu;
  } want[] = {{BW_TYRE_ASPHALT_DRY, 0.00345, 0.1}, {BW_TYRE_ASPHALT_DRY, 0.00723, 0.2},
              {BW_TYRE_ASPHALT_DRY, 0.01138, 0.3}, {BW_TYRE_ASPHALT_WET, 0.00372, 0.1},
              {BW_TYRE_ASPHALT_WET, 0.01298, 0.3}, {BW_TYRE_SNOW, 0.00772, 0.1},
              {BW_TYRE_SNOW, 0.01590, 0.15}};
  for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
    const struct bw_tyre tyre = published(want[i].surface);
    double slope = 0.0;
    /* the slip is printed to 1e-5: half of that times the slope */
    const double mu = bw_tyre_friction(&tyre, 1.0, want[i].slip, &slope);
    CHECK_CLOSE(mu, want[i].mu, 0.6e-5 * slope);
  }
}

static void monotone_ice_has_its_peak_at_full_slip(void **state) {
  (void)state;
  /* TYR-7: the book prints c3 = 0, where ln(c1 c2/c3)/c2 has no value */
  struct bw_tyre ice = {.surface = BW_TYRE_CUSTOM, .c = {0.05, 306.39, 0.0}, .low_speed = 0.1};
  assert_int_equal(bw_tyre_prepare(&ice, NULL), BW_OK);
  CHECK_CLOSE(ice.peak_slip, 1.0, 0.0);
  CHECK_CLOSE(ice.peak, 0.05 * (1.0 - exp(-306.39)), 1e-15);
  double before = 0.0;
  for (int i = 0; i <= 100; i++) {
    double slope = 0.0;
    const double mu = bw_tyre_friction(&ice, 1.0, 0.01 * i, &slope);
    CHECK_WITHIN(mu, before, 0.05);
    CHECK_WITHIN(slope, 0.0, ice.stiffness);
    before = mu;
  }
}

static struct bw_tyre magic(double load_kn, double *peak_newton) {
  /* TYR-8..11: set of 1987 (SAE 870421, from memory; coefficients quoted), slip in percent */
  const double d = -21.3 * load_kn * load_kn + 1144.0 * load_kn;
  const double bcd = (49.6 * load_kn * load_kn + 226.0 * load_kn) / exp(0.069 * load_kn);
  const double e = -0.006 * load_kn * load_kn + 0.056 * load_kn + 0.486;
  struct bw_tyre tyre = {.model = BW_TYRE_MAGIC,
                         .magic = {100.0 * bcd / (1.65 * d), 1.65, d / (1e3 * load_kn), e},
                         .low_speed = 0.1};
  assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
  *peak_newton = d;
  return tyre;
}

static void tyr_8_to_11_magic_formula(void **state) {
  (void)state;
  const double want[4][6] = {/* kN, D, peak mu, slip at peak %, F at 5 %, F at 100 % */
                             {2.0, 2202.8, 1.1014, 11.86, 1878.1, 1530.8},
                             {4.0, 4235.2, 1.0588, 10.35, 3823.7, 2898.6},
                             {6.0, 6097.2, 1.0162, 9.18, 5687.1, 4071.7},
                             {8.0, 7788.8, 0.9736, 8.13, 7429.8, 5023.3}};
  for (int i = 0; i < 4; i++) {
    double d = 0.0;
    double slope = 0.0;
    const struct bw_tyre tyre = magic(want[i][0], &d);
    const double load = 1e3 * want[i][0];
    CHECK_CLOSE(d, want[i][1], 0.06);
    CHECK_CLOSE(tyre.peak, want[i][2], 6e-5);
    CHECK_CLOSE(100.0 * tyre.peak_slip, want[i][3], 6e-3);
    CHECK_CLOSE(load * bw_tyre_friction(&tyre, 1.0, 0.05, &slope), want[i][4], 0.06);
    CHECK_CLOSE(load * bw_tyre_friction(&tyre, 1.0, 1.0, &slope), want[i][5], 0.06);
  }
}

static void simple_sets(void **state) {
  (void)state;
  /* section 4c: sets from memory, peaks derived; E = 1 leaves B s - atan(B s) + ... monotone */
  const double set[4][4] = {
      {10, 1.9, 1.0, 0.97}, {12, 2.3, 0.82, 1}, {5, 2, 0.3, 1}, {4, 2, 0.1, 1}};
  const double want[4][3] = {{1.000, 0.180, 0.9145},
                             {0.820, 0.0882, 0.637},
                             {0.300, 0.312, 0.2855},
                             {0.100, 0.389, 0.0962}};
  for (int i = 0; i < 4; i++) {
    struct bw_tyre tyre = {.model = BW_TYRE_MAGIC, .low_speed = 0.1};
    memcpy(tyre.magic, set[i], sizeof tyre.magic);
    assert_int_equal(bw_tyre_prepare(&tyre, NULL), BW_OK);
    double slope = 0.0;
    CHECK_CLOSE(tyre.peak, want[i][0], 6e-4);
    CHECK_CLOSE(tyre.peak_slip, want[i][1], 6e-4);
    CHECK_CLOSE(bw_tyre_friction(&tyre, 1.0, 1.0, &slope), want[i][2], 6e-4);
  }
}

static void curves_are_odd_smooth_and_similar(void **state) {
  (void)state;
  uint64_t seed = 20260711;
  for (int i = 0; i < 2000; i++) {
    double d = 0.0;
    const struct bw_tyre tyre =
        i % 2 == 0 ? published((enum bw_tyre_surface)(i % 7)) : magic(1.0 + (i % 8), &d);
    const double slip = test_uniform(&seed, -0.95, 0.95);
    const double grip = test_uniform(&seed, 0.2, 1.0);
    double slope = 0.0;
    double unused = 0.0;
    const double mu = bw_tyre_friction(&tyre, grip, slip, &slope);
    CHECK_CLOSE(bw_tyre_friction(&tyre, grip, -slip, &unused), -mu, 0.0);
    CHECK_WITHIN(fabs(mu), 0.0, grip * tyre.peak * (1.0 + 1e-12));
    if (fabs(fabs(slip) - grip) > 1e-3 && fabs(slip) > 1e-3) {
      const double h = 1e-6;
      const double ahead = bw_tyre_friction(&tyre, grip, slip + h, &unused);
      const double behind = bw_tyre_friction(&tyre, grip, slip - h, &unused);
      CHECK_CLOSE(slope, (ahead - behind) / (2.0 * h), 1e-5 * tyre.stiffness);
    }
    (void)bw_tyre_friction(&tyre, grip, 0.0, &slope);
    CHECK_RELATIVE(slope, tyre.stiffness, 1e-12);
  }
}

static void bad_curves_are_refused(void **state) {
  (void)state;
  const struct bw_tyre bad[] = {
      {.surface = BW_TYRE_CUSTOM, .c = {0.1, 2.0, 0.5}},         /* falls at once */
      {.surface = BW_TYRE_CUSTOM, .c = {0.3, 30.0, 1.3}},        /* negative at full slip */
      {.surface = BW_TYRE_CUSTOM, .c = {(double)NAN, 30.0, 0.1}} /* no number */
  };
  for (size_t i = 0; i < 3; i++) {
    struct bw_tyre tyre = bad[i];
    struct bw_diag diag = {0};
    assert_int_equal(bw_tyre_prepare(&tyre, &diag), BW_E_RANGE);
    assert_int_equal(diag.count, 1);
  }
}

static void grip_holds_until_the_next_place(void **state) {
  (void)state;
  const double distance[3] = {0.0, 31.0, 47.5};
  const double left[3] = {0.9, 0.2, 0.9};
  const double right[3] = {0.9, 0.8, 0.9};
  struct bw_surface surface = {0};
  assert_int_equal(bw_surface_make(distance, left, right, 3, &surface, NULL), BW_OK);
  assert_true(bw_surface_is_split(&surface));
  size_t hint = 0;
  CHECK_CLOSE(bw_surface_at(&surface, 0, 30.999, &hint), 0.9, 0.0);
  CHECK_CLOSE(bw_surface_at(&surface, 0, 31.0, &hint), 0.2, 0.0);
  CHECK_CLOSE(bw_surface_at(&surface, 1, 40.0, &hint), 0.8, 0.0);
  CHECK_CLOSE(bw_surface_at(&surface, 0, 1e6, &hint), 0.9, 0.0);
  CHECK_CLOSE(bw_surface_at(&surface, 0, 33.0, &hint), 0.2, 0.0); /* rolling back */
  CHECK_CLOSE(bw_surface_at(&surface, 0, -5.0, &hint), 0.9, 0.0);
  const double falling[3] = {0.0, 31.0, 31.0};
  const double late[3] = {1.0, 31.0, 47.5};
  const double none[3] = {0.9, 0.0, 0.9};
  struct bw_surface untouched = {0};
  assert_int_equal(bw_surface_make(falling, left, right, 3, &untouched, NULL), BW_E_RANGE);
  assert_int_equal(bw_surface_make(late, left, right, 3, &untouched, NULL), BW_E_RANGE);
  assert_int_equal(bw_surface_make(distance, none, right, 3, &untouched, NULL), BW_E_RANGE);
  assert_int_equal(untouched.n, 0);
  assert_int_equal(bw_surface_make(distance, left, left, 3, &surface, NULL), BW_OK);
  assert_false(bw_surface_is_split(&surface));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(tyr_1_to_7_burckhardt),
      cmocka_unit_test(small_slip_of_the_list),
      cmocka_unit_test(monotone_ice_has_its_peak_at_full_slip),
      cmocka_unit_test(tyr_8_to_11_magic_formula),
      cmocka_unit_test(simple_sets),
      cmocka_unit_test(curves_are_odd_smooth_and_similar),
      cmocka_unit_test(bad_curves_are_refused),
      cmocka_unit_test(grip_holds_until_the_next_place),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
