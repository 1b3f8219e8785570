/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"
#include "sim/fault.h"

#include <math.h>
#include <string.h>

/** Faults: what defines each kind, and a lost machine against closed forms. */

static const double KMH = 1.0 / 3.6;
static const double RADIUS = 0.32;
static const double TORQUE = 1500.0 * 3.0 * 0.32; /* N m, 3 m/s2 */

/* a car without road load that is to slow down by 3 m/s2 from 50 km/h, by its front machine */
static struct bw_case *make_fault_stop(enum bw_fault_kind kind, double start) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  made->fault = (struct bw_fault){.kind = kind,
                                  .start = start,
                                  .duration = 1e6,
                                  .charge_share = 1.0,
                                  .booster_share = 1.0,
                                  .circuit_share = 1.0,
                                  .shorted_torque = 500.0,
                                  .bias_torque = 500.0,
                                  .drag_torque = 500.0,
                                  .peak_speed = 5.0,
                                  .delay = 0.1,
                                  .pressure = 1e6,
                                  .speed = 3.0};
  make_stop(made, 50.0 * KMH, 3.0, 30.0);
  return made;
}

static double stop_distance(const struct test_record *record) {
  return record->rows[record->n - 1].distance;
}

/* [D], closed form: regeneration worth 3 m/s2 lost at once at 50 km/h, friction takes over after
 * dead time td and lag tau: the speed not taken off is 3 (td + tau); ways from integrating it */
static void lost_regeneration_costs_what_the_closed_form_says(void **state) {
  (void)state;
  static const struct {
    double dead_time, lag, speed, way;
  } row[] = {{0.05, 0.10, 0.45, 2.07}, {0.10, 0.15, 0.75, 3.44}, {0.20, 0.20, 1.20, 5.50}};
  struct bw_case *sound = make_fault_stop(BW_FAULT_NONE, 0.0);
  struct test_record record = {0};
  record_run(sound, &TEST_FILL, NULL, &record);
  CHECK_CLOSE(stop_distance(&record), 32.150, 5e-4);
  const double whole = stop_distance(&record);
  free_record(&record);
  free_case(sound);
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    struct bw_case *made = make_fault_stop(BW_FAULT_MACHINE_TRIP, 0.0);
    make_friction_delay(made, row[i].dead_time, row[i].lag);
    struct test_record lost = {0};
    record_run(made, &TEST_FILL, NULL, &lost);
    CHECK_CLOSE(record_speed(&lost, 3.5) - (50.0 * KMH - 3.0 * 3.5), row[i].speed, 1e-6);
    CHECK_CLOSE(stop_distance(&lost) - whole, row[i].way, 6e-3);
    free_record(&lost);
    free_case(made);
  }
}

/* run, and give the row of the period that begins at `time` */
static struct test_row row_at(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                              double time) {
  struct test_record record = {0};
  record_run(made, strategy, NULL, &record);
  const size_t index = (size_t)lround(time / made->control_period);
  assert_true(index < record.n);
  assert_true(record.residual_worst < 1e-9);
  const struct test_row row = record.rows[index];
  free_record(&record);
  return row;
}

static struct test_row one_fault(enum bw_fault_kind kind, const struct bw_blend_strategy *strategy,
                                 double time) {
  struct bw_case *made = make_fault_stop(kind, 1.0);
  const struct test_row row = row_at(made, strategy, time);
  free_case(made);
  return row;
}

static void machines_trip_and_stay_unreplaced_without_friction(void **state) {
  (void)state;
  static const enum bw_fault_kind kinds[] = {BW_FAULT_MACHINE_TRIP, BW_FAULT_CONTACTOR_OPEN,
                                             BW_FAULT_CHARGE_LIMIT, BW_FAULT_LOST};
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
    CHECK_RELATIVE(one_fault(kinds[i], &TEST_MACHINE, 0.99).machine, TORQUE, 1e-9);
    /* the whole 3 m/s2 are lost when nothing takes over */
    CHECK_CLOSE(one_fault(kinds[i], &TEST_MACHINE, 1.01).deceleration, 0.0, 1e-9);
  }
}

static void undetected_trip_is_not_filled(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_MACHINE_TRIP, 1.0);
  made->fault.detection = 0.5;
  CHECK_CLOSE(row_at(made, &TEST_FILL, 1.4).deceleration, 0.0, 1e-9);
  CHECK_RELATIVE(row_at(made, &TEST_FILL, 1.5).deceleration, 3.0, 1e-9);
  free_case(made);
}

static void faults_end_and_fade(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_LOST, 1.0);
  made->fault.duration = 0.5;
  made->fault.recovery = 1.0;
  CHECK_CLOSE(row_at(made, &TEST_MACHINE, 1.49).machine, 0.0, 1e-9);
  CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 2.0).machine, 0.5 * TORQUE, 1e-6);
  CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 2.6).machine, TORQUE, 1e-9);
  made->fault.recovery = 0.0;
  CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 1.5).machine, TORQUE, 1e-9);
  free_case(made);
}

static void charge_limit_falls_by_its_share(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_CHARGE_LIMIT, 1.0);
  const double current = 150.0; /* A at 400 V, no resistance: 60 kW */
  const double zero = 0.0;
  assert_int_equal(bw_table1_make(&zero, &current, 1, &made->battery.charge_continuous, NULL), 0);
  assert_int_equal(bw_table1_make(&zero, &current, 1, &made->battery.charge_pulse, NULL), 0);
  made->fault.charge_share = 0.75;
  const struct test_row row = row_at(made, &TEST_MACHINE, 1.2);
  const double speed = 0.5 * (row.speed_start + row.speed_end);
  CHECK_RELATIVE(row.machine / RADIUS * speed, 15e3, 1e-3);
  free_case(made);
}

static void voltage_rises_before_the_contactor_opens(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_CONTACTOR_OPEN, 1.0);
  made->fault.voltage = 200.0; /* the room to the limit is 100 V: none left halfway */
  made->fault.lead = 0.4;
  CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 0.75).machine, TORQUE, 1e-9);
  CHECK_CLOSE(row_at(made, &TEST_MACHINE, 0.85).machine, 0.0, 1e-9);
  free_case(made);
}

static void shorted_machine_drags_and_feeds_nothing_back(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_SHORTED, 0.0);
  made->fault.axle = BW_FAULT_FRONT_AXLE;
  make_stop(made, 50.0 * KMH, 0.0, 2.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  const struct test_row row = record.rows[100];
  const double speed = 0.5 * (row.speed_start + row.speed_end);
  /* closed form: 2 x / (1 + x^2) of the greatest torque, x = v / 5 m/s */
  const double x = speed / 5.0;
  CHECK_RELATIVE(row.machine, 500.0 * 2.0 * x / (1.0 + x * x), 1e-4);
  CHECK_CLOSE(record.terminals, 0.0, 1e-9);
  assert_true(record.machine_work > 1000.0);
  free_record(&record);
  free_case(made);
}

static void brakes_lose_pressure(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_BOOSTER, 1.0);
  made->fault.booster_share = 0.6;
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.2).friction, 0.4 * TORQUE, 1e-9);
  made->fault.kind = BW_FAULT_CIRCUIT;
  made->fault.circuit = BW_FAULT_CIRCUIT_FRONT;
  make_friction_delay(made, 0.2, 0.1); /* pressure does not wait for the delays */
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 0.9).friction, TORQUE, 1e-2);
  /* rear brakes have a third of the torque per pressure of both */
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.0).friction, TORQUE / 3.0, 1e-2);
  made->fault.circuit = BW_FAULT_CIRCUIT_REAR;
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.0).friction, TORQUE * 2.0 / 3.0, 1e-2);
  made->fault.circuit = BW_FAULT_CIRCUIT_DIAGONAL;
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.0).friction, TORQUE / 2.0, 1e-2);
  free_case(made);
}

static void messages_go_wrong(void **state) {
  (void)state;
  CHECK_RELATIVE(one_fault(BW_FAULT_SIGN, &TEST_MACHINE, 1.2).deceleration, -3.0, 1e-9);
  const double time[2] = {0.0, 3.0};
  const double value[2] = {0.0, 3.0};
  struct bw_case *made = make_fault_stop(BW_FAULT_LATE, 1.0);
  make_trace(made, BW_TRACE_DECEL, time, value, 2);
  made->driver.initial_speed = 50.0 * KMH;
  /* demand of 1 m/s2 per second, held from the middle of a period, 0.1 s late */
  CHECK_CLOSE(row_at(made, &TEST_MACHINE, 1.5).deceleration, 1.405, 1e-9);
  CHECK_CLOSE(row_at(made, &TEST_MACHINE, 0.9).deceleration, 0.905, 1e-9);
  made->fault.kind = BW_FAULT_FROZEN;
  CHECK_CLOSE(row_at(made, &TEST_MACHINE, 2.0).deceleration, 0.995, 1e-9);
  free_case(made);
}

static void brake_drags_whatever_is_asked(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_DRAG, 1.0);
  made->fault.drag_axle = BW_FAULT_REAR_AXLE;
  make_stop(made, 50.0 * KMH, 0.0, 2.0);
  CHECK_CLOSE(row_at(made, &TEST_FILL, 0.9).friction, 0.0, 1e-9);
  CHECK_RELATIVE(row_at(made, &TEST_FILL, 1.0).friction, 500.0, 1e-9);
  free_case(made);
}

static void sensors_mislead_the_controller_only(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_TORQUE_BIAS, 0.0);
  made->fault.axle = BW_FAULT_FRONT_AXLE;
  struct bw_blend_input input = {.speed = 2.0, .machine_estimate = {100.0, 0.0}};
  bw_fault_sense(made, 1.0, &input);
  CHECK_CLOSE(input.machine_estimate[0], 600.0, 0.0);
  CHECK_CLOSE(input.machine_estimate[1], 0.0, 0.0);
  made->fault.kind = BW_FAULT_PRESSURE_BIAS;
  bw_fault_sense(made, 0.5, &input);
  CHECK_RELATIVE(input.friction_estimate[0], 0.5e6 * 4e-4, 1e-12);
  CHECK_CLOSE(input.friction_estimate[1], 0.0, 0.0);
  made->fault.kind = BW_FAULT_SPEED_BIAS;
  bw_fault_sense(made, 1.0, &input);
  CHECK_CLOSE(input.speed, 5.0, 1e-12);
  made->fault.speed = -30.0;
  bw_fault_sense(made, 1.0, &input);
  CHECK_CLOSE(input.speed, 0.0, 0.0);
  free_case(made);
}

/* asks for nothing and notes the greatest estimate it is told of the rear machine */
static double rear_estimate_most;

static void note_rear(void *memory, const struct bw_blend_info *info, const double *params,
                      const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)memory;
  (void)info;
  (void)params;
  rear_estimate_most = fmax(rear_estimate_most, input->machine_estimate[BW_REAR]);
  *request = (struct bw_blend_request){.friction = {input->demand_pedal, 0.0}};
}

/* an error comes on top of what is read in the same period, not of the error before it; where
 * there is no machine as well */
static void a_biased_estimate_does_not_grow(void **state) {
  (void)state;
  static const struct bw_blend_strategy listener = {
      .abi = BW_BLEND_ABI, .name = "listener", .step = note_rear};
  struct bw_case *made = make_fault_stop(BW_FAULT_TORQUE_BIAS, 0.0);
  made->fault.axle = BW_FAULT_BOTH_AXLES;
  rear_estimate_most = 0.0;
  struct test_record record = {0};
  record_run(made, &listener, NULL, &record);
  assert_true(record.n > 100);
  CHECK_CLOSE(rear_estimate_most, 500.0, 0.0);
  free_record(&record);
  free_case(made);
}

/* one that hands over by the speed it is told hands over early or late by the error */
static void biased_speed_moves_a_fade(void **state) {
  (void)state;
  const double fade[TEST_FADE_PARAMS] = {8.0, 6.0};
  struct bw_case *made = make_fault_stop(BW_FAULT_SPEED_BIAS, 0.0);
  double speed[2];
  for (int i = 0; i < 2; i++) {
    made->fault.speed = (double)i * 2.0;
    struct test_record record = {0};
    record_run(made, &TEST_FADE, fade, &record);
    speed[i] = record_friction_above(&record, 0.5 * TORQUE);
    free_record(&record);
  }
  CHECK_CLOSE(speed[0] - speed[1], 2.0, 0.04);
  free_case(made);
}

static void no_fault_is_the_same_to_the_last_bit(void **state) {
  (void)state;
  struct test_record record[2] = {{0}, {0}};
  for (int i = 0; i < 2; i++) {
    struct bw_case *made = make_fault_stop(BW_FAULT_NONE, 1.0);
    if (i == 1) { /* a fault of no size */
      made->fault.kind = BW_FAULT_DRAG;
      made->fault.drag_torque = 0.0;
    }
    record_run(made, &TEST_SIXTY, NULL, &record[i]);
    free_case(made);
  }
  assert_true(record[0].hash == record[1].hash);
  free_record(&record[0]);
  free_record(&record[1]);
}

static void fault_after_the_car_rests_is_refused(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_DRAG, 20.0);
  struct bw_diag diag = {0};
  assert_int_equal(bw_run(made, &TEST_FILL, NULL, NULL, 0, &diag), BW_E_USAGE);
  assert_non_null(strstr(diag.line[0], "lies after the end of the run at 4.6"));
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lost_regeneration_costs_what_the_closed_form_says),
      cmocka_unit_test(machines_trip_and_stay_unreplaced_without_friction),
      cmocka_unit_test(undetected_trip_is_not_filled),
      cmocka_unit_test(faults_end_and_fade),
      cmocka_unit_test(charge_limit_falls_by_its_share),
      cmocka_unit_test(voltage_rises_before_the_contactor_opens),
      cmocka_unit_test(shorted_machine_drags_and_feeds_nothing_back),
      cmocka_unit_test(brakes_lose_pressure),
      cmocka_unit_test(messages_go_wrong),
      cmocka_unit_test(brake_drags_whatever_is_asked),
      cmocka_unit_test(sensors_mislead_the_controller_only),
      cmocka_unit_test(a_biased_estimate_does_not_grow),
      cmocka_unit_test(biased_speed_moves_a_fade),
      cmocka_unit_test(no_fault_is_the_same_to_the_last_bit),
      cmocka_unit_test(fault_after_the_car_rests_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
