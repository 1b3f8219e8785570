/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_shaft.h"

/** Shaft and lash between machine and wheels. DRV-n number the project's list of physics checks;
 *  the values are closed forms, derived there. */

static void drv_1_shuffle_frequency(void **state) {
  (void)state;
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = 10e3}, &bench);
  /* DRV-1: f = sqrt(k (1/J1 + 1/J2))/(2 pi); 8.012 Hz with J2 = 153.6 kg m2, without the wheels */
  const double pi = acos(-1.0);
  CHECK_CLOSE(sqrt(10e3 * (1.0 / 4.05 + 1.0 / 153.6)) / (2.0 * pi), 8.012, 5e-4);
  const double want = sqrt(10e3 * (1.0 / bench.machine + 1.0 / bench.car)) / (2.0 * pi);
  CHECK_RELATIVE(shaft_frequency(10e3), want, 1e-3);
  free_case(bench.made);
}

static void drv_8_ring_after_a_torque_step(void **state) {
  (void)state;
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = 10e3}, &bench);
  /* DRV-8: twist swings about its mean with amplitude T/k x J2/(J1 + J2): the shaft's peak torque
   * is twice the mean */
  const double torque = 730.0;
  bench.torques.machine[0] = torque;
  const double mean = torque * bench.car / (bench.machine + bench.car);
  double peak = 0.0;
  double back = -1e9;
  for (int i = 0; i < 20000; i++) {
    shaft_step(&bench, 2e-5);
    const double now = -10e3 * bench.slip.axle[0].twist;
    peak = fmax(peak, now);
    back = i > 5000 && i < 7500 ? fmax(back, -now) : back;
  }
  CHECK_RELATIVE(peak, 2.0 * mean, 3e-3);
  /* one period later it is back where it was: nothing but the tyres damps it */
  CHECK_CLOSE(back, 0.0, 0.02 * mean);
  free_case(bench.made);
}

static void damping_takes_what_the_ring_loses(void **state) {
  (void)state;
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = 10e3, .damping = 40.0}, &bench);
  bench.torques.machine[0] = 0.0;
  bench.slip.axle[0].twist = 0.05;
  bench.slip.axle[0].shaft_torque = 500.0;
  const double before = bw_slip_energy(bench.made, &bench.slip);
  struct bw_slip_works works = {0};
  for (int i = 0; i < 20000; i++) {
    bw_slip_step(bench.made, &bench.torques, 1e-4, &bench.slip, &works);
  }
  const double after = bw_slip_energy(bench.made, &bench.slip);
  CHECK_CLOSE(bench.slip.axle[0].twist, 0.0, 1e-5);
  CHECK_CLOSE(before - after, works.shaft[0] + works.tyre[0] + works.tyre[1], 1e-9 * before);
  /* of the 12.5 J wound up nearly all goes to the damper */
  CHECK_WITHIN(works.shaft[0], 0.9 * 12.5, 12.5);
  free_case(bench.made);
}

static void drv_7_lash_crossing(void **state) {
  (void)state;
  const double lash = 0.035;
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = 20e3, .lash = lash}, &bench);
  /* DRV-7: from rest at one flank, torque T on J: t = sqrt(2 lash J/T), impact sqrt(2 T lash/J) */
  const double torque = 61.0;
  bench.slip.axle[0].twist = 0.5 * lash;
  bench.torques.machine[0] = torque;
  const double length = 1e-5;
  const double wheel = bench.slip.axle[0].wheel[0].omega;
  double time = 0.0;
  while (bench.slip.axle[0].twist > -0.5 * lash && time < 1.0) {
    shaft_step(&bench, length);
    time += length;
  }
  CHECK_CLOSE(time, sqrt(2.0 * lash * bench.machine / torque), 2.0 * length);
  CHECK_RELATIVE(wheel - bench.slip.axle[0].machine_omega,
                 sqrt(2.0 * torque * lash / bench.machine), 1e-3);
  CHECK_CLOSE(bench.slip.axle[0].wheel[0].omega, wheel, 1e-6);
  free_case(bench.made);
}

static void potential_difference_is_the_mean_torque(void **state) {
  (void)state;
  const struct bw_driveline line = {.stiffness = 7.3e3, .lash = 0.02};
  uint64_t seed = 99;
  for (int i = 0; i < 10000; i++) {
    const double from = test_uniform(&seed, -0.05, 0.05);
    const double to =
        i % 2 == 0 ? test_uniform(&seed, -0.05, 0.05) : from + test_uniform(&seed, -1e-7, 1e-7);
    const double mean = bw_driveline_mean(&line, from, to);
    const double stored = bw_driveline_stored(&line, to) - bw_driveline_stored(&line, from);
    CHECK_CLOSE(mean * (to - from), stored, 1e-14);
    const double most = line.stiffness * fmax(fabs(bw_driveline_wound(&line, from)),
                                              fabs(bw_driveline_wound(&line, to)));
    CHECK_WITHIN(fabs(mean), 0.0, most * (1.0 + 1e-12));
    CHECK_WITHIN(bw_driveline_contact(&line, from, to), 0.0, 1.0);
  }
  CHECK_CLOSE(bw_driveline_mean(&line, 0.005, -0.005), 0.0, 0.0);
  CHECK_CLOSE(bw_driveline_mean(&line, 0.03, 0.03), 7.3e3 * 0.02, 1e-9);
  CHECK_CLOSE(bw_driveline_contact(&line, -0.02, 0.02), 0.5, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(drv_1_shuffle_frequency),
      cmocka_unit_test(drv_8_ring_after_a_torque_step),
      cmocka_unit_test(damping_takes_what_the_ring_loses),
      cmocka_unit_test(drv_7_lash_crossing),
      cmocka_unit_test(potential_difference_is_the_mean_torque),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
