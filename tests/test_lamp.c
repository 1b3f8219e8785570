/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stop lamp and jerk filter: the small state machines. */
#include "assess/jerk_filter.h"
#include "assess/lamp.h"
#include "check.h"

/* lit after 1 s of constant `deceleration` with the pedal released, from the state of *lamp */
static bool lit_after(struct bw_lamp *lamp, double deceleration) {
  for (int i = 0; i < 100; i++) {
    (void)bw_lamp_step(lamp, deceleration, false, 0.01);
  }
  return lamp->is_lit;
}

/* bands 0.7 / 1.3 m/s2: UN R13-H 5.2.22.4 as quoted second-hand */
static void lamp_keeps_the_bands(void **state) {
  (void)state;
  const double thresholds[] = {0.7000001, 1.0, 1.3};
  for (size_t i = 0; i < 3; i++) {
    struct bw_lamp lamp = bw_lamp_make(thresholds[i], 0.05);
    assert_false(lit_after(&lamp, 0.69));
    assert_int_equal(lit_after(&lamp, 0.71), thresholds[i] < 0.71);
    assert_int_equal(lit_after(&lamp, 1.29), thresholds[i] < 1.29);
    assert_true(lit_after(&lamp, 1.31));
    assert_true(lit_after(&lamp, 0.71)); /* once lit it may stay lit above 0.7 */
    assert_false(lit_after(&lamp, 0.69));
  }
}

static void pedal_lights_the_lamp_at_any_deceleration(void **state) {
  (void)state;
  struct bw_lamp lamp = bw_lamp_make(1.0, 0.0);
  assert_true(bw_lamp_step(&lamp, 0.0, true, 0.01));
  CHECK_CLOSE(lamp.must_off, 0.0, 0.0);
  assert_false(bw_lamp_step(&lamp, 0.7, false, 0.01));
}

/* a slow low-pass is what breaks the rule: 1.5 m/s2 at once, threshold 1.3, time constant 0.4 s:
 * dark for 0.4 ln(1.5/(1.5 - 1.3)) s, closed form */
static void lag_of_the_lamp_is_counted(void **state) {
  (void)state;
  struct bw_lamp lamp = bw_lamp_make(1.3, 0.4);
  (void)bw_lamp_step(&lamp, 0.0, false, 0.001);
  for (int i = 0; i < 6000; i++) {
    (void)bw_lamp_step(&lamp, 1.5, false, 0.001);
  }
  CHECK_CLOSE(lamp.must_on, 0.4 * log(1.5 / 0.2), 0.002);
  for (int i = 0; i < 2000; i++) {
    (void)bw_lamp_step(&lamp, 0.5, false, 0.001);
  }
  CHECK_CLOSE(lamp.must_off, 0.4 * log(1.0 / 0.2), 0.002);
}

/* amplitude of output and slope for a unit sine of `frequency`, after the start has died away */
static void sine_answer(double frequency, double *output, double *slope) {
  const double pi = acos(-1.0);
  const double step = 0.001;
  struct bw_jerk_filter filter = bw_jerk_filter_make(10.0, step);
  bw_jerk_filter_settle(&filter, 0.0);
  double y[2] = {0.0, 0.0};
  double d[2] = {0.0, 0.0};
  const size_t n = 10000;
  for (size_t i = 1; i <= 2 * n; i++) {
    const double phase = 2.0 * pi * frequency * (double)i * step;
    bw_jerk_filter_step(&filter, sin(phase));
    if (i > n) {
      y[0] += filter.output * cos(phase) * 2.0 / (double)n;
      y[1] += filter.output * sin(phase) * 2.0 / (double)n;
      d[0] += filter.slope * cos(phase) * 2.0 / (double)n;
      d[1] += filter.slope * sin(phase) * 2.0 / (double)n;
    }
  }
  *output = hypot(y[0], y[1]);
  *slope = hypot(d[0], d[1]);
}

/* Butterworth, second order: gain 1/sqrt(1 + (w/wc)^4) with w = tan(pi f h), closed form; the
 * bilinear derivative has gain (2/h) tan(pi f h) */
static void filter_is_the_butterworth_it_says(void **state) {
  (void)state;
  const double pi = acos(-1.0);
  const double frequencies[] = {1.0, 5.0, 10.0, 30.0};
  for (size_t i = 0; i < 4; i++) {
    double output = 0.0;
    double slope = 0.0;
    sine_answer(frequencies[i], &output, &slope);
    const double omega = tan(pi * frequencies[i] * 0.001);
    const double gain = 1.0 / sqrt(1.0 + pow(omega / tan(pi * 10.0 * 0.001), 4.0));
    CHECK_RELATIVE(output, gain, 1e-9);
    CHECK_RELATIVE(slope, gain * 2000.0 * omega, 1e-9);
  }
  double output = 0.0;
  double slope = 0.0;
  sine_answer(10.0, &output, &slope);
  CHECK_CLOSE(20.0 * log10(output), -3.0103, 1e-4);      /* at the cut-off */
  CHECK_RELATIVE(slope, output * 2.0 * pi * 10.0, 4e-4); /* the true derivative, 10 Hz at 1 ms */
}

static void filter_follows_a_ramp_with_its_slope(void **state) {
  (void)state;
  struct bw_jerk_filter filter = bw_jerk_filter_make(10.0, 0.001);
  bw_jerk_filter_settle(&filter, 0.3);
  bw_jerk_filter_step(&filter, 0.3);
  CHECK_CLOSE(filter.slope, 0.0, 1e-15); /* a steady start gives no jerk */
  for (int i = 1; i <= 1000; i++) {
    bw_jerk_filter_step(&filter, 0.3 + 2.7 * 0.001 * i);
  }
  CHECK_RELATIVE(filter.slope, 2.7, 1e-9);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lamp_keeps_the_bands),
      cmocka_unit_test(pedal_lights_the_lamp_at_any_deceleration),
      cmocka_unit_test(lag_of_the_lamp_is_counted),
      cmocka_unit_test(filter_is_the_butterworth_it_says),
      cmocka_unit_test(filter_follows_a_ramp_with_its_slope),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
