/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"

/** Kinematics and energy of the simulated car against closed forms. Identifiers KIN-n number the
 *  project's list of physics checks; each form is derived from m dv/dt = -F, the published
 *  agreement is named where there is one. */

static const double KMH = 1.0 / 3.6;
/* relative: what the simulator must keep at its default step */
static const double DEFAULT_STEP = 1e-4;

/* coast-down of RV-1 with road load f0 + f1 v + f2 v^2 */
static struct bw_case *coast(double f1) {
  struct bw_case *made = make_case();
  made->vehicle.road_f1 = f1;
  make_stop(made, 100.0 * KMH, 0.0, 400.0);
  return made;
}

static void kin_1_kinetic_energy(void **state) {
  (void)state;
  struct bw_case *made = coast(0.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  /* KIN-1, [D]: half m v^2 of 1500 kg at 100 km/h = 578.704 kJ */
  CHECK_RELATIVE(record.kinetic_first, 0.5 * 1500.0 * pow(100.0 / 3.6, 2.0), 1e-12);
  CHECK_CLOSE(record.kinetic_first, 578704.0, 0.5);
  free_record(&record);
  free_case(made);
}

static void kin_4_and_5_coast_down(void **state) {
  (void)state;
  struct bw_case *made = coast(0.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  /* KIN-4, [D]: t = m/sqrt(AC) [atan(v0 s) - atan(v1 s)], x = m/(2C) ln[(A + C v0^2)/(A + C v1^2)]
   */
  static const struct {
    double speed_kmh;
    double time;
    double distance;
  } wanted[] = {{0.0, 193.983, 2207.894}, {80.0, 22.449, 558.431}, {50.0, 69.954, 1402.760}};
  const double a = made->vehicle.road_f0;
  const double c = made->vehicle.road_f2;
  const double s = sqrt(c / a);
  const double v0 = 100.0 * KMH;
  for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
    const double v1 = wanted[i].speed_kmh * KMH;
    double time = 0.0;
    double distance = 0.0;
    record_slowed(&record, v1, &time, &distance);
    CHECK_RELATIVE(time, 1500.0 / sqrt(a * c) * (atan(v0 * s) - atan(v1 * s)), 1e-7);
    CHECK_RELATIVE(distance, 1500.0 / (2.0 * c) * log((a + c * v0 * v0) / (a + c * v1 * v1)), 1e-7);
    CHECK_CLOSE(time, wanted[i].time, 6e-4);
    CHECK_CLOSE(distance, wanted[i].distance, 6e-4);
  }
  /* KIN-5, [D]: rolling A x = 324.892 kJ, aerodynamic 253.812 kJ, sum = kinetic energy */
  const double way = record.rows[record.n - 1].distance;
  CHECK_RELATIVE(a * way, 324892.0, 2e-6);
  CHECK_RELATIVE(record.road_work - a * way, 253812.0, 3e-6);
  CHECK_RELATIVE(record.road_work, record.kinetic_first, 1e-11);
  free_record(&record);
  free_case(made);
}

static void kin_6_linear_term(void **state) {
  (void)state;
  struct bw_case *made = coast(3.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 0.0, &time, &distance);
  /* KIN-6, [D]: B = 3 N s/m, 100 -> 0 km/h: 170.2699 s, 1871.7003 m */
  CHECK_CLOSE(time, 170.2699, 1e-4);
  CHECK_CLOSE(distance, 1871.7003, 1e-4);
  const double a = made->vehicle.road_f0;
  const double b = 3.0;
  const double c = made->vehicle.road_f2;
  const double v0 = 100.0 * KMH;
  const double root = sqrt(4.0 * a * c - b * b);
  const double turn = atan((2.0 * c * v0 + b) / root) - atan(b / root);
  CHECK_RELATIVE(time, 1500.0 * 2.0 / root * turn, 1e-7);
  CHECK_RELATIVE(distance,
                 1500.0 * (log((a + b * v0 + c * v0 * v0) / a) / (2.0 * c) - b / (c * root) * turn),
                 1e-7);
  free_record(&record);
  free_case(made);
}

/* RV-1 without road load, braked by one machine alone */
static struct bw_case *machine_stop(double force, double power, double speed) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = 0.0;
  made->vehicle.road_f2 = 0.0;
  make_machine(made, BW_FRONT, force * made->vehicle.tyre_radius, power);
  make_stop(made, speed, 50.0, 60.0);
  return made;
}

static void kin_8_constant_power(void **state) {
  (void)state;
  struct bw_case *made = machine_stop(1e6, 30e3, 100.0 * KMH);
  struct test_record record = {0};
  record_run(made, &TEST_MACHINE, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 20.0 * KMH, &time, &distance);
  /* KIN-8, [D]: t = m (v0^2 - v1^2)/(2P), x = m (v0^3 - v1^3)/(3P): 18.5185 s, 354.3667 m */
  const double v0 = 100.0 * KMH;
  const double v1 = 20.0 * KMH;
  CHECK_RELATIVE(time, 1500.0 * (v0 * v0 - v1 * v1) / 60e3, DEFAULT_STEP);
  CHECK_RELATIVE(distance, 1500.0 * (pow(v0, 3.0) - pow(v1, 3.0)) / 90e3, DEFAULT_STEP);
  CHECK_RELATIVE(time, 18.5185, DEFAULT_STEP);
  CHECK_RELATIVE(distance, 354.3667, DEFAULT_STEP);
  /* 555.556 kJ: what the machine took up to that moment, from its mean torque and the way */
  double work = 0.0;
  double way = 0.0;
  for (size_t i = 0; i < record.n && way < distance; i++) {
    const double end = fmin(distance, record.rows[i].distance);
    work += record.rows[i].machine / made->vehicle.tyre_radius * (end - way);
    way = end;
  }
  CHECK_RELATIVE(work, 0.5 * 1500.0 * (v0 * v0 - v1 * v1), 1e-6);
  CHECK_RELATIVE(work, 555556.0, 1e-6);
  /* without losses, road load or friction everything ends at the battery terminals */
  CHECK_RELATIVE(record.terminals, record.kinetic_first, 1e-9);
  free_record(&record);
  free_case(made);
}

static void kin_9_envelope_stop(void **state) {
  (void)state;
  struct bw_case *made = machine_stop(4500.0, 100e3, 120.0 * KMH);
  struct test_record record = {0};
  record_run(made, &TEST_MACHINE, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 0.0, &time, &distance);
  /* KIN-9, [D]: constant power down to v_b = P/F = 80 km/h, constant force below: 12.0370 s,
   * 212.620 m */
  CHECK_RELATIVE(time, 12.0370, DEFAULT_STEP);
  CHECK_RELATIVE(distance, 212.620, DEFAULT_STEP);
  const double v0 = 120.0 * KMH;
  const double vb = 100e3 / 4500.0;
  CHECK_RELATIVE(time, 1500.0 * (v0 * v0 - vb * vb) / 200e3 + 1500.0 * vb / 4500.0, DEFAULT_STEP);
  CHECK_RELATIVE(distance,
                 1500.0 * (pow(v0, 3.0) - pow(vb, 3.0)) / 300e3 + 1500.0 * vb * vb / 9000.0,
                 DEFAULT_STEP);
  free_record(&record);
  free_case(made);
}

/* error of the speed after `time` of the coast-down KIN-4, sub-step `step` */
static double coast_error(double step, double time) {
  struct bw_case *made = coast(0.0);
  make_steps(made, step, 1);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  const double a = made->vehicle.road_f0;
  const double c = made->vehicle.road_f2;
  const double s = sqrt(c / a);
  const double exact = tan(atan(100.0 * KMH * s) - time * sqrt(a * c) / 1500.0) / s;
  const double error = record_speed(&record, time) - exact;
  free_record(&record);
  free_case(made);
  return error;
}

static void coast_down_converges_with_second_order(void **state) {
  (void)state;
  const double error[3] = {coast_error(0.4, 60.0), coast_error(0.2, 60.0), coast_error(0.1, 60.0)};
  print_message("coast-down, step 400/200/100 ms: error %.3g %.3g %.3g m/s, order %.3f %.3f\n",
                error[0], error[1], error[2], log2(error[0] / error[1]), log2(error[1] / error[2]));
  CHECK_WITHIN(log2(error[0] / error[1]), 1.8, 2.2);
  CHECK_WITHIN(log2(error[1] / error[2]), 1.8, 2.2);
}

/* error of the speed after 10 s of the constant-power stop KIN-8, control period `period` */
static double power_error(double period) {
  struct bw_case *made = machine_stop(1e6, 30e3, 100.0 * KMH);
  make_steps(made, period, 10);
  struct test_record record = {0};
  record_run(made, &TEST_MACHINE, NULL, &record);
  const double exact = sqrt(pow(100.0 * KMH, 2.0) - 2.0 * 30e3 * 10.0 / 1500.0);
  const double error = record_speed(&record, 10.0) - exact;
  free_record(&record);
  free_case(made);
  return error;
}

static void constant_power_converges_with_second_order(void **state) {
  (void)state;
  const double error[3] = {power_error(0.1), power_error(0.05), power_error(0.025)};
  print_message("constant power, period 100/50/25 ms: error %.3g %.3g %.3g m/s, order %.3f %.3f\n",
                error[0], error[1], error[2], log2(error[0] / error[1]), log2(error[1] / error[2]));
  CHECK_WITHIN(log2(error[0] / error[1]), 1.8, 2.2);
  CHECK_WITHIN(log2(error[1] / error[2]), 1.8, 2.2);
}

static void kin_12_cycle_identity(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 2000.0, 70e3);
  const double time[] = {0.0, 3.0, 14.0, 31.0, 38.0, 47.0, 60.0, 66.0};
  const double speed[] = {0.0, 0.0, 13.7, 16.1, 9.3, 11.9, 0.0, 0.0};
  make_trace(made, BW_TRACE_SPEED, time, speed, sizeof time / sizeof *time);
  struct test_record record = {0};
  record_run(made, &TEST_FILL, NULL, &record);
  assert_true(record.last.is_parked);
  /* KIN-12, [D]: from rest to rest traction work = drag work + braking work */
  const double brake = record.machine_work + record.friction_work;
  const double residual = record.drive_work - record.road_work - brake - record.tyre_work;
  CHECK_WITHIN(fabs(residual) / record.drive_work, 0.0, 1e-12);
  CHECK_WITHIN(record.residual_worst, 0.0, 1e-13);
  /* drag work anew from the ticks' speeds: A x + C integral v^3, exact for linear speed */
  double drag = made->vehicle.road_f0 * record.rows[record.n - 1].distance;
  for (size_t i = 0; i < record.n; i++) {
    const double v0 = record.rows[i].speed_start;
    const double v1 = record.rows[i].speed_end;
    drag += made->vehicle.road_f2 * 0.01 * (v0 + v1) * (v0 * v0 + v1 * v1) / 4.0;
  }
  CHECK_RELATIVE(record.road_work, drag, 1e-6);
  free_record(&record);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(kin_1_kinetic_energy),
      cmocka_unit_test(kin_4_and_5_coast_down),
      cmocka_unit_test(kin_6_linear_term),
      cmocka_unit_test(kin_8_constant_power),
      cmocka_unit_test(kin_9_envelope_stop),
      cmocka_unit_test(coast_down_converges_with_second_order),
      cmocka_unit_test(constant_power_converges_with_second_order),
      cmocka_unit_test(kin_12_cycle_identity),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
