/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_slip.h"
#include "model/hydraulics.h"

/** Calipers with a volume, flow limit, hysteresis and line delay. HYD-n number the project's list
 *  of physics checks. */

static const struct bw_hydraulics CALIPERS = {.flow = 60e-6,
                                              .soft_volume = 1.6e-6,
                                              .soft_pressure = 3e5,
                                              .elasticity = 0.05e-11,
                                              .hysteresis = 0.0};

static void volume_and_pressure_are_inverse(void **state) {
  (void)state;
  uint64_t seed = 7;
  double before = 0.0;
  for (int i = 0; i < 3000; i++) {
    const double pressure = 2e7 * pow(test_uniform(&seed, 0.0, 1.0), 3.0);
    const double volume = bw_hydraulics_volume(&CALIPERS, pressure);
    CHECK_CLOSE(bw_hydraulics_pressure(&CALIPERS, volume), pressure, 1e-7 + 1e-11 * pressure);
  }
  for (int i = 0; i <= 200; i++) {
    const double volume = bw_hydraulics_volume(&CALIPERS, 1e5 * i);
    assert_true(i == 0 || volume > before);
    before = volume;
  }
  CHECK_CLOSE(bw_hydraulics_pressure(&CALIPERS, 0.0), 0.0, 0.0);
  /* HYD-8, from memory: 3 to 4 cm3 per front caliper at 100 bar; two of them here */
  CHECK_WITHIN(bw_hydraulics_volume(&CALIPERS, 1e7), 6e-6, 8e-6);
}

static void build_takes_volume_over_flow(void **state) {
  (void)state;
  /* whatever the step: time to a pressure = V(p)/flow, closed form */
  for (int k = 1; k <= 4; k *= 2) {
    const double step = 1e-3 / k;
    double pressure = 0.0;
    int steps = 0;
    while (pressure < 8e6) {
      pressure = bw_hydraulics_follow(&CALIPERS, pressure, 1e7, step);
      steps++;
    }
    const double time = bw_hydraulics_volume(&CALIPERS, 8e6) / CALIPERS.flow;
    CHECK_CLOSE(steps * step, time, step);
  }
  /* what the flow allows is passed on untouched */
  CHECK_CLOSE(bw_hydraulics_follow(&CALIPERS, 5e6, 5.01e6, 1e-3), 5.01e6, 0.0);
  /* released as fast as built */
  const double down = bw_hydraulics_follow(&CALIPERS, 5e6, 0.0, 1e-3);
  CHECK_CLOSE(bw_hydraulics_volume(&CALIPERS, 5e6) - bw_hydraulics_volume(&CALIPERS, down), 60e-9,
              1e-18);
  CHECK_CLOSE(bw_hydraulics_follow(&CALIPERS, 1e3, 0.0, 1.0), 0.0, 0.0);
}

static void hysteresis_is_a_band(void **state) {
  (void)state;
  const struct bw_hydraulics band = {.hysteresis = 4e5};
  double felt = 0.0;
  for (int i = 0; i <= 100; i++) {
    felt = bw_hydraulics_felt(&band, felt, 5e4 * i);
  }
  CHECK_CLOSE(felt, 5e6 - 2e5, 1e-6);
  felt = bw_hydraulics_felt(&band, felt, 4.7e6); /* inside the band: nothing moves */
  CHECK_CLOSE(felt, 5e6 - 2e5, 1e-6);
  felt = bw_hydraulics_felt(&band, felt, 3e6);
  CHECK_CLOSE(felt, 3e6 + 2e5, 1e-6);
}

static void hyd_1_and_2_line_delay(void **state) {
  (void)state;
  /* HYD-1 [D]: 1190, 1303, 1374 m/s at 1.5, 1.8, 2.0 GPa and 1060 kg/m3; HYD-2 [D]: 5 m at 1372 m/s
   * are 3.6 ms */
  const struct bw_hydraulics line = {.line_length = 5.0};
  const double modulus[3] = {1.5e9, 1.8e9, 2.0e9};
  const double speed[3] = {1190.0, 1303.0, 1374.0};
  for (int i = 0; i < 3; i++) {
    CHECK_CLOSE(5.0 / bw_hydraulics_line_delay(&line, modulus[i], 1060.0), speed[i], 0.6);
  }
  CHECK_CLOSE(bw_hydraulics_line_delay(&line, 1372.0 * 1372.0 * 1060.0, 1060.0), 3.6e-3, 5e-5);
}

struct stop {
  double way;
  double time;
};

static enum bw_status keep(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct stop *stop = context;
  stop->way += sample->distance;
  stop->time = sample->time;
  return BW_OK;
}

static struct stop run(const struct bw_case *made) {
  struct stop stop = {0};
  const struct bw_observer observer = {.context = &stop, .watch = keep};
  assert_int_equal(bw_run(made, &TEST_FRICTION, NULL, &observer, 1, NULL), BW_OK);
  return stop;
}

static void a_stop_grows_by_the_flow_and_the_band(void **state) {
  (void)state;
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  make_stop(made, 25.0, 5.0, 30.0);
  const struct stop plain = run(made);
  /* the defaults change nothing */
  for (int i = 0; i < 2; i++) {
    made->slip.hydraulics[i] = CALIPERS;
    made->slip.hydraulics[i].flow = 0.0;
  }
  CHECK_CLOSE(run(made).way, plain.way, 0.0);
  for (int i = 0; i < 2; i++) {
    made->slip.hydraulics[i].flow = CALIPERS.flow;
  }
  const struct stop slow = run(made);
  /* pressure p with both axles' 6e-4 N m/Pa; force grows as V^-1(flow t): speed not taken off is
   * the integral of the missing deceleration, some tenths of 25 m/s x the time of build */
  const double pressure = 5.0 * bw_case_effective_mass(made) * 0.32 / 6e-4;
  const double build = bw_hydraulics_volume(&CALIPERS, pressure) / CALIPERS.flow;
  CHECK_WITHIN(slow.way - plain.way, 0.4 * 25.0 * build, 25.0 * build);
  for (int i = 0; i < 2; i++) {
    made->slip.hydraulics[i] = CALIPERS;
    made->slip.hydraulics[i].flow = 0.0;
    made->slip.hydraulics[i].hysteresis = 0.2 * pressure;
  }
  /* nine tenths of the pressure are felt: the way is 1/0.9 of it */
  CHECK_RELATIVE(run(made).way, plain.way / 0.9, 1e-3);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(volume_and_pressure_are_inverse),
      cmocka_unit_test(build_takes_volume_over_flow),
      cmocka_unit_test(hysteresis_is_a_band),
      cmocka_unit_test(hyd_1_and_2_line_delay),
      cmocka_unit_test(a_stop_grows_by_the_flow_and_the_band),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
