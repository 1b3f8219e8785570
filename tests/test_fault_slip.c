/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_slip.h"

#include <math.h>

/** Faults of a car on wheels of its own. The closed forms are derived for these tests. */

static const double KMH = 1.0 / 3.6;
static const double RADIUS = 0.32;
/* N m for 3 m/s2 of 1500 kg and wheels of 2 x 1.1 kg m2 */
static const double TORQUE = 3.0 * 0.32 * (1500.0 + 2.0 * 1.1 / (0.32 * 0.32));

static struct bw_case *make_fault_case(enum bw_fault_kind kind, enum bw_tyre_surface surface) {
  struct bw_case *made = make_slip_case(surface);
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->fault = (struct bw_fault){.kind = kind,
                                  .start = 1.0,
                                  .duration = 1e6,
                                  .charge_share = 1.0,
                                  .booster_share = 0.6,
                                  .circuit_share = 1.0,
                                  .shorted_torque = 500.0,
                                  .peak_speed = 5.0,
                                  .bias_torque = 300.0,
                                  .drag_torque = 400.0,
                                  .drag_axle = BW_FAULT_REAR_AXLE,
                                  .delay = 0.1,
                                  .pressure = 1e6,
                                  .speed = 3.0,
                                  .voltage = 50.0,
                                  .lead = 0.1};
  make_stop(made, 60.0 * KMH, 3.0, 30.0);
  return made;
}

static struct test_row row_at(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                              double time) {
  struct test_record record = {0};
  record_run(made, strategy, NULL, &record);
  const size_t index = (size_t)lround(time / made->control_period);
  assert_true(index < record.n);
  const struct test_row row = record.rows[index];
  free_record(&record);
  return row;
}

static void the_ledger_closes_under_every_fault(void **state) {
  (void)state;
  for (int kind = BW_FAULT_NONE; kind < BW_FAULT_KIND_COUNT; kind++) {
    struct bw_case *made = make_fault_case((enum bw_fault_kind)kind, BW_TYRE_ASPHALT_DRY);
    made->fault.duration = 0.5;
    made->fault.recovery = 0.5;
    struct test_record record = {0};
    record_run(made, &TEST_SIXTY, NULL, &record);
    assert_true(record.residual_worst < 1e-9);
    free_record(&record);
    free_case(made);
  }
}

static void machines_that_fail_leave_nothing(void **state) {
  (void)state;
  static const enum bw_fault_kind kinds[] = {BW_FAULT_MACHINE_TRIP, BW_FAULT_CONTACTOR_OPEN,
                                             BW_FAULT_CHARGE_LIMIT, BW_FAULT_LOST};
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
    struct bw_case *made = make_fault_case(kinds[i], BW_TYRE_ASPHALT_DRY);
    made->fault.voltage = 0.0;
    CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 0.9).machine, TORQUE, 1e-9);
    CHECK_CLOSE(row_at(made, &TEST_MACHINE, 1.1).machine, 0.0, 1e-9);
    CHECK_CLOSE(row_at(made, &TEST_MACHINE, 1.5).deceleration, 0.0, 1e-3);
    free_case(made);
  }
}

static void shorted_machine_drags_its_wheels(void **state) {
  (void)state;
  struct bw_case *made = make_fault_case(BW_FAULT_SHORTED, BW_TYRE_ASPHALT_DRY);
  made->fault.axle = BW_FAULT_FRONT_AXLE;
  make_stop(made, 60.0 * KMH, 0.0, 3.0);
  const struct test_row row = row_at(made, &TEST_FRICTION, 2.0);
  /* 2 x / (1 + x^2) of the greatest torque, x = v / 5 m/s; the wheel's slip is below 1 % */
  const double x = row.speed_start / 5.0;
  CHECK_RELATIVE(row.machine, 500.0 * 2.0 * x / (1.0 + x * x), 0.01);
  /* the front wheels' inertia of 1.1 kg m2 slows with the car, as the rear ones' does */
  const double mass = 1500.0 + 2.0 * 1.1 / (RADIUS * RADIUS);
  CHECK_RELATIVE(row.deceleration, row.machine / RADIUS / mass, 5e-3);
  free_case(made);
}

static void brakes_lose_what_the_fault_says(void **state) {
  (void)state;
  struct bw_case *made = make_fault_case(BW_FAULT_BOOSTER, BW_TYRE_ASPHALT_DRY);
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.2).friction, 0.4 * TORQUE, 1e-6);
  made->fault.kind = BW_FAULT_CIRCUIT;
  made->fault.circuit = BW_FAULT_CIRCUIT_FRONT;
  /* rear brakes have a third of the torque per pressure of both */
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.2).friction, TORQUE / 3.0, 1e-6);
  made->fault.circuit = BW_FAULT_CIRCUIT_DIAGONAL;
  CHECK_RELATIVE(row_at(made, &TEST_FRICTION, 1.2).friction, TORQUE / 2.0, 1e-6);
  free_case(made);
}

static void messages_go_wrong_on_wheels_too(void **state) {
  (void)state;
  struct bw_case *made = make_fault_case(BW_FAULT_SIGN, BW_TYRE_ASPHALT_DRY);
  const struct test_row wrong = row_at(made, &TEST_MACHINE, 1.5);
  CHECK_RELATIVE(wrong.machine, -TORQUE, 1e-6);
  assert_true(wrong.speed_end > wrong.speed_start);
  const double time[2] = {0.0, 3.0};
  const double value[2] = {0.0, 3.0};
  make_trace(made, BW_TRACE_DECEL, time, value, 2);
  made->driver.initial_speed = 60.0 * KMH;
  made->fault.kind = BW_FAULT_LATE;
  /* a demand that rises by 1 m/s2 per second, 0.1 s late, held from the middle of a period */
  const double per_mps2 = TORQUE / 3.0;
  CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 1.5).machine, 1.405 * per_mps2, 0.03);
  made->fault.kind = BW_FAULT_FROZEN;
  CHECK_RELATIVE(row_at(made, &TEST_MACHINE, 2.0).machine, 0.995 * per_mps2, 0.03);
  free_case(made);
}

struct watched {
  double locked;
  double slip;
  double level;
};

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct watched *watched = context;
  watched->locked += sample->locked_time;
  watched->slip = fmax(watched->slip, sample->axle[BW_REAR].slip_peak);
  watched->level = fmax(watched->level, sample->fault_level);
  return BW_OK;
}

/* what a stuck piston presses no antilock valve lets out: the rear wheels lock on snow */
static void antilock_cannot_free_a_dragging_brake(void **state) {
  (void)state;
  double locked[2];
  for (int i = 0; i < 2; i++) {
    struct bw_case *made = make_fault_case(BW_FAULT_DRAG, BW_TYRE_SNOW);
    make_antilock(made, BW_REGENERATION_CUT);
    make_stop(made, 60.0 * KMH, 0.0, 5.0);
    /* the rear axle's 6.5 kN on packed snow, 0.19, give 400 N m at most */
    made->fault.drag_torque = i == 0 ? 900.0 : 200.0;
    struct watched watched = {0};
    const struct bw_observer observer = {.context = &watched, .watch = watch};
    assert_int_equal(bw_run(made, &TEST_FRICTION, NULL, &observer, 1, NULL), BW_OK);
    locked[i] = watched.locked;
    CHECK_CLOSE(watched.level, 1.0, 0.0);
    assert_true(i == 0 ? watched.slip > 0.9 : watched.slip < 0.1);
    free_case(made);
  }
  assert_true(locked[0] > 1.0);
  CHECK_CLOSE(locked[1], 0.0, 0.0);
}

static enum bw_status watch_power(void *context, const struct bw_sample *sample,
                                  struct bw_diag *diag) {
  (void)diag;
  double *power = context;
  const struct bw_sample_axle *axle = &sample->axle[BW_FRONT];
  /* the limit of a period is that of its start: while the wheels run up it comes a period late */
  if (sample->time > 0.5 && sample->fault_level >= 1.0) {
    power[0] = fmax(power[0], axle->drive_work / sample->duration);
    power[1] = fmax(power[1], fabs(axle->slip));
  }
  return BW_OK;
}

/* wheels that spin turn much faster than the car rolls; the machine's power is bounded at theirs */
static void a_machine_that_spins_its_wheels_keeps_its_power(void **state) {
  (void)state;
  struct bw_case *made = make_fault_case(BW_FAULT_SIGN, BW_TYRE_SNOW);
  make_machine(made, BW_FRONT, 1e5, 60e3);
  made->fault.start = 0.0;
  made->fault.duration = 2.0;
  double power[2] = {0.0, 0.0};
  const struct bw_observer observer = {.context = power, .watch = watch_power};
  assert_int_equal(bw_run(made, &TEST_MACHINE, NULL, &observer, 1, NULL), BW_OK);
  assert_true(power[1] > 0.4);
  CHECK_WITHIN(power[0], 0.9 * 60e3, 1.1 * 60e3);
  free_case(made);
}

static void biases_reach_the_controller_only(void **state) {
  (void)state;
  static const enum bw_fault_kind kinds[] = {BW_FAULT_TORQUE_BIAS, BW_FAULT_PRESSURE_BIAS,
                                             BW_FAULT_SPEED_BIAS};
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
    struct bw_case *sound = make_fault_case(BW_FAULT_NONE, BW_TYRE_ASPHALT_DRY);
    struct bw_case *biased = make_fault_case(kinds[i], BW_TYRE_ASPHALT_DRY);
    const struct test_row a = row_at(sound, &TEST_SIXTY, 2.0);
    const struct test_row b = row_at(biased, &TEST_SIXTY, 2.0);
    /* a strategy that reads none of them drives the same to the last bit */
    CHECK_CLOSE(a.machine, b.machine, 0.0);
    CHECK_CLOSE(a.friction, b.friction, 0.0);
    CHECK_CLOSE(a.speed_end, b.speed_end, 0.0);
    free_case(sound);
    free_case(biased);
  }
  /* one that fades the machine by speed fades 3 m/s earlier when it reads 3 m/s too little */
  const double fade[TEST_FADE_PARAMS] = {8.0, 6.0};
  double speed[2];
  for (int i = 0; i < 2; i++) {
    struct bw_case *made = make_fault_case(BW_FAULT_SPEED_BIAS, BW_TYRE_ASPHALT_DRY);
    made->fault.start = 0.0;
    made->fault.speed = i == 0 ? 0.0 : -3.0;
    struct test_record record = {0};
    record_run(made, &TEST_FADE, fade, &record);
    speed[i] = record_friction_above(&record, 0.5 * TORQUE);
    free_record(&record);
    free_case(made);
  }
  CHECK_CLOSE(speed[1] - speed[0], 3.0, 0.06);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_ledger_closes_under_every_fault),
      cmocka_unit_test(machines_that_fail_leave_nothing),
      cmocka_unit_test(shorted_machine_drags_its_wheels),
      cmocka_unit_test(brakes_lose_what_the_fault_says),
      cmocka_unit_test(messages_go_wrong_on_wheels_too),
      cmocka_unit_test(antilock_cannot_free_a_dragging_brake),
      cmocka_unit_test(a_machine_that_spins_its_wheels_keeps_its_power),
      cmocka_unit_test(biases_reach_the_controller_only),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
