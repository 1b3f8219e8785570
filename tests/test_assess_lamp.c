/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess_rows.h"
#include "batch/assess_lamp.h"
#include "batch/assess_phasing.h"
#include "check.h"
#include "make_case.h"

#include <string.h>

/** Stop lamp on accelerator release and compensation of regeneration, through the simulator,
 *  against closed forms (derived). */

static const double KMH = 1.0 / 3.6;

/* RV-1 without road load, a strong rear machine, fine steps */
static struct bw_case *car(void) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_machine(made, BW_REAR, 1e4, 1e7);
  made->machine[BW_REAR].omega_max = 200.0 * KMH / 0.32;
  make_steps(made, 0.001, 1);
  return made;
}

static void spells_are_told_from_sums(void **state) {
  (void)state;
  struct bw_lamp lamp = bw_lamp_make(1.3, 0.0);
  /* lit, then 0.3 s and 0.1 s at 0.7 m/s2 or less would be dark at once without a low-pass: so hold
   * it by hand */
  (void)bw_lamp_step(&lamp, 1.5, false, 0.01);
  assert_true(lamp.is_lit);
  lamp.filter = 1e3; /* from here the low-passed value stays where it is */
  lamp.gain_duration = 0.0;
  const double held[] = {0.3, 0.9, 0.1, 0.9};
  for (size_t i = 0; i < 4; i++) {
    for (int k = 0; k < (int)lround(held[i] / 0.01); k++) {
      (void)bw_lamp_step(&lamp, i % 2 == 0 ? 0.5 : 0.9, false, 0.01);
    }
  }
  CHECK_CLOSE(lamp.must_off, 0.4, 1e-9);
  CHECK_CLOSE(lamp.must_off_longest, 0.3, 1e-9);
  CHECK_CLOSE(lamp.must_on_longest, 0.0, 0.0);
}

static void release_shows_the_low_pass(void **state) {
  (void)state;
  struct bw_case *made = car();
  made->overrun = (struct bw_overrun){.deceleration = 1.5, .fade_zero = 1.0, .fade_full = 2.0};
  const struct bw_lift_off roll = bw_lift_off_roll(made, BW_STOP_CHARGE_OWN, 20.0);
  CHECK_CLOSE(roll.peak, 1.5, 1e-12);
  /* step to 1.5: dark until the low-pass of 0.1 s has passed 1.0 */
  CHECK_CLOSE(roll.lamp.must_on_longest, 0.1 * log(1.5 / 0.5), 2.5e-3);
  /* fading out, a = 1.5 exp(-1.5 t); the low-pass of it is y = A exp(-1.5 t) + (1.5 - A) exp(-10
   * t), A = 1.5 x 10/8.5; lit until y = 0.7, dark is asked for from a = 0.7 */
  const double part = 1.5 * 10.0 / 8.5;
  double until = log(part / 0.7) / 1.5;
  for (int i = 0; i < 20; i++) {
    until = log(part / (0.7 - (1.5 - part) * exp(-10.0 * until))) / 1.5;
  }
  CHECK_CLOSE(roll.lamp.must_off_longest, until - log(1.5 / 0.7) / 1.5, 2.5e-3);
  /* 1.31 must and 1.29 may light; 0.69 must not: UN R13-H 5.2.22.4, quoted */
  made->overrun.deceleration = 0.69;
  CHECK_CLOSE(bw_lift_off_roll(made, BW_STOP_CHARGE_OWN, 20.0).lamp.must_off, 0.0, 0.0);
  made->assess.lamp_on = 1.3;
  made->overrun.deceleration = 1.29;
  CHECK_CLOSE(bw_lift_off_roll(made, BW_STOP_CHARGE_OWN, 20.0).lamp.must_on, 0.0, 0.0);
  made->overrun.deceleration = 1.31; /* 1.3 is passed after ln(131) time constants */
  CHECK_CLOSE(bw_lift_off_roll(made, BW_STOP_CHARGE_OWN, 20.0).lamp.must_on_longest,
              0.1 * log(131.0), 2.5e-3);
  free_case(made);
}

static void without_regeneration_release_is_coasting(void **state) {
  (void)state;
  struct bw_case *made = car();
  made->overrun = (struct bw_overrun){.deceleration = 1.5, .fade_zero = 1.0, .fade_full = 2.0};
  CHECK_CLOSE(bw_lift_off_roll(made, BW_STOP_CHARGE_NONE, 20.0).peak, 0.0, 0.0);
  made->overrun.fill = BW_OVERRUN_FILL_FRICTION;
  CHECK_CLOSE(bw_lift_off_roll(made, BW_STOP_CHARGE_NONE, 20.0).peak, 1.5, 1e-12);
  /* the machine gives less than is asked for */
  made->overrun.fill = BW_OVERRUN_FILL_NONE;
  made->machine[BW_REAR].shaft_torque_peak = 1500.0 * 0.32 * 1.1;
  CHECK_CLOSE(bw_lift_off_roll(made, BW_STOP_CHARGE_OWN, 20.0).peak, 1.1, 1e-9);
  free_case(made);
}

static void lamp_that_cannot_be_judged_is_not_assessed(void **state) {
  (void)state;
  struct bw_case *made = car();
  struct bw_assessment found = rows_of(made, &BW_ASSESS_LAMP_CAR, NULL);
  assert_int_equal((int)found.count, 2);
  assert_true(isnan(found.rows[0].margin) && isnan(found.rows[1].margin));
  assert_non_null(strstr(found.rows[0].note, "overrun.decel_mps2"));
  bw_assessment_free(&found);
  made->machine[BW_REAR].is_fitted = false;
  found = rows_of(made, &BW_ASSESS_LAMP_CAR, NULL);
  assert_non_null(strstr(found.rows[0].note, "no machine"));
  assert_int_equal((int)bw_assessment_missed(&found), 0);
  bw_assessment_free(&found);
  free_case(made);
}

static void lamp_is_judged_on_a_cycle(void **state) {
  (void)state;
  struct bw_case *made = car();
  make_steps(made, 0.01, 10);
  made->overrun = (struct bw_overrun){.deceleration = 1.8, .fade_zero = 0.1, .fade_full = 0.2};
  made->assess.lamp_on = 1.3;
  made->assess.lamp_filter = 0.4;
  /* 1.5 m/s2 within the overrun: no pedal */
  make_trace(made, BW_TRACE_SPEED, (const double[]){0.0, 3.0, 13.0, 15.0},
             (const double[]){30.0, 30.0, 15.0, 15.0}, 4);
  struct bw_assessment found = rows_of(made, &BW_ASSESS_LAMP_TRACE, &TEST_MACHINE);
  assert_int_equal((int)found.count, 2);
  CHECK_CLOSE(found.rows[0].result, 0.4 * log(1.5 / 0.2), 0.03);
  CHECK_CLOSE(found.rows[1].result, 0.4 * log(1.5 / 0.7), 0.03);
  /* 0.2 s are allowed */
  assert_int_equal((int)bw_assessment_missed(&found), 2);
  bw_assessment_free(&found);
  free_case(made);
}

/* the row whose condition is that text and no more */
static const struct bw_assess_row *row_exactly(const struct bw_assessment *found, const char *name,
                                               const char *condition) {
  const struct bw_assess_row *row = row_of(found, name, condition);
  assert_string_equal(row->condition, condition);
  return row;
}

static void friction_makes_good_within_its_delay(void **state) {
  (void)state;
  struct bw_case *made = car();
  make_friction_delay(made, 0.05, 0.1);
  struct bw_assessment found = rows_of(made, &BW_ASSESS_PHASING, &TEST_FILL);
  /* a step D of the exchange is missing for theta and dies away with tau: above the felt line f for
   * theta + tau ln(D/f) */
  const double wanted = 0.05 + 0.1 * log(2.0 / made->assess.felt_deceleration);
  static const char *const changes[] = {"limit falls", "limit returns"};
  for (size_t i = 0; i < 2; i++) {
    const struct bw_assess_row *time = row_exactly(&found, "compensation_time", changes[i]);
    CHECK_CLOSE(time->result, wanted, 2e-3);
    CHECK_CLOSE(time->limit, 0.6, 0.0);
    CHECK_CLOSE(time[1].result, 2.0, 1e-6);
    assert_true(time[1].is_information);
  }
  /* this machine brakes to rest */
  CHECK_CLOSE(row_exactly(&found, "compensation_time", "runs out by speed")->result, 0.0, 0.0);
  assert_int_equal((int)bw_assessment_missed(&found), 0);
  bw_assessment_free(&found);
  made->assess.compensation_time = 0.3;
  found = rows_of(made, &BW_ASSESS_PHASING, &TEST_FILL);
  assert_true(bw_assessment_missed(&found) >= 2);
  bw_assessment_free(&found);
  free_case(made);
}

static void fading_by_speed_shows_the_ramp(void **state) {
  (void)state;
  struct bw_case *made = car();
  make_friction_delay(made, 0.05, 0.1);
  made->machine[BW_REAR].low_speed_zero = 1.0;
  made->machine[BW_REAR].low_speed_full = 5.0;
  made->machine[BW_REAR].shaft_torque_peak = 1500.0 * 2.0 * 0.32;
  struct bw_assessment found = rows_of(made, &BW_ASSESS_PHASING, &TEST_FILL);
  /* HO-2: the ramp of 4 m/s takes 2 s at 2 m/s2, 1 m/s3; its peak is theta + tau of it, here 0.15
   * m/s2, the car a little slower to fade as it falls short */
  const struct bw_assess_row *time = row_exactly(&found, "compensation_time", "runs out by speed");
  CHECK_WITHIN(time[1].result, 0.135, 0.155);
  bw_assessment_free(&found);
  free_case(made);
}

static void what_nobody_makes_good_is_missed(void **state) {
  (void)state;
  struct bw_case *made = car();
  struct bw_assessment found = rows_of(made, &BW_ASSESS_PHASING, &TEST_MACHINE);
  const struct bw_assess_row *time = row_exactly(&found, "compensation_time", "limit falls");
  CHECK_CLOSE(time->result, 2.0, 2e-3); /* until the limit returns */
  assert_true(time->margin < 0.0);
  assert_true(bw_assessment_missed(&found) > 0);
  bw_assessment_free(&found);
  /* brakes alone have nothing to make good, which is no pass */
  found = rows_of(made, &BW_ASSESS_PHASING, &TEST_FRICTION);
  for (size_t i = 0; i < found.count; i++) {
    assert_true(isnan(found.rows[i].margin));
    assert_true(found.rows[i].note[0] != '\0');
  }
  bw_assessment_free(&found);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(spells_are_told_from_sums),
      cmocka_unit_test(release_shows_the_low_pass),
      cmocka_unit_test(without_regeneration_release_is_coasting),
      cmocka_unit_test(lamp_that_cannot_be_judged_is_not_assessed),
      cmocka_unit_test(lamp_is_judged_on_a_cycle),
      cmocka_unit_test(friction_makes_good_within_its_delay),
      cmocka_unit_test(fading_by_speed_shows_the_ramp),
      cmocka_unit_test(what_nobody_makes_good_is_missed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
