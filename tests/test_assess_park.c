/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/pad_heat.h"
#include "assess_rows.h"
#include "batch/assess_cycle.h"
#include "batch/assess_park.h"
#include "check.h"
#include "make_case.h"
#include "model/park.h"

#include <string.h>

/** Parking brake, pad heat and friction shares against closed forms. */

/* RV-1 at rest; wheel radius 0.32 m, a 1.20 m, b 1.50 m, h 0.54 m */
static const struct bw_park_brake BRAKE = {.axle = BW_PARK_REAR,
                                           .clamp_force = 13700.0,
                                           .effective_radius = 0.117,
                                           .friction = 0.31,
                                           .efficiency = 0.93,
                                           .clamp_loss = 0.07,
                                           .sensor_range = 60000.0};

static double sine(double grade) {
  return sin(atan(grade));
}

static void grade_pulls_what_statics_say(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* DES-3, derived: 0.19612 and 0.28735 of the weight; 2885.8 N and 4228.3 N for 1500 kg */
  CHECK_CLOSE(bw_park_needed(&made->vehicle, sine(0.20)), 2885.8, 0.05);
  CHECK_CLOSE(bw_park_needed(&made->vehicle, -sine(0.30)), 4228.3, 0.05);
  CHECK_CLOSE(bw_park_needed(&made->vehicle, sine(0.20)) / (1500.0 * 9.81), 0.19612, 5e-6);
  free_case(made);
}

static void grip_limits_the_grade_of_one_axle(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* DES-4, derived: tan of the greatest grade; rear up, rear down, front up, front down */
  static const struct {
    double adhesion;
    double wanted[4];
  } by_table[] = {{0.8, {0.4233, 0.3065, 0.3831, 0.5291}}, {0.2, {0.0926, 0.0855, 0.1068, 0.1157}}};
  for (size_t i = 0; i < 2; i++) {
    for (int j = 0; j < 4; j++) {
      const enum bw_park_axle axle = j < 2 ? BW_PARK_REAR : BW_PARK_FRONT;
      const bool faces_up = j % 2 == 0;
      const double grade = bw_park_grip_grade(&made->vehicle, axle, faces_up, by_table[i].adhesion);
      CHECK_CLOSE(grade, by_table[i].wanted[j], 6e-5);
      /* the force held with a clamp that is strong enough meets the pull there, by axle loads */
      struct bw_park_brake strong = BRAKE;
      strong.axle = axle;
      const double slope = faces_up ? sine(grade) : -sine(grade);
      CHECK_RELATIVE(bw_park_holds(&strong, &made->vehicle, 1e6, slope, by_table[i].adhesion),
                     bw_park_needed(&made->vehicle, slope), 1e-12);
    }
    CHECK_CLOSE(bw_park_grip_grade(&made->vehicle, BW_PARK_BOTH, true, by_table[i].adhesion),
                by_table[i].adhesion, 0.0);
  }
  free_case(made);
}

static void clamp_force_follows_the_lever(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* derived: two calipers, two faces each */
  const double torque = 4.0 * 0.31 * 13700.0 * 0.93 * 0.117;
  CHECK_RELATIVE(bw_park_torque(&BRAKE, 13700.0), torque, 1e-14);
  /* on much grip the brake itself is the limit */
  CHECK_RELATIVE(bw_park_holds(&BRAKE, &made->vehicle, 13700.0, sine(0.2), 1.4), torque / 0.32,
                 1e-14);
  /* what has to be set: after the loss it holds exactly */
  const double pull = bw_park_needed(&made->vehicle, sine(0.3));
  const double clamp = bw_park_clamp(&BRAKE, 0.32, 1, pull);
  CHECK_RELATIVE(bw_park_torque(&BRAKE, clamp * (1.0 - 0.07)) / 0.32, pull, 1e-14);
  CHECK_RELATIVE(bw_park_clamp(&BRAKE, 0.32, 2, pull), 0.5 * clamp, 1e-14);
  free_case(made);
}

static void parking_brake_alone_slows_by_grip_or_torque(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* BAL-6 and BAL-7, derived: packed snow, rear 0.838 m/s2, front 1.135 m/s2 */
  const double strong[2] = {1e5, 1e5};
  CHECK_CLOSE(bw_park_deceleration(&made->vehicle, BW_PARK_REAR, strong, 0.2), 0.838, 6e-4);
  CHECK_CLOSE(bw_park_deceleration(&made->vehicle, BW_PARK_FRONT, strong, 0.2), 1.135, 6e-4);
  CHECK_CLOSE(bw_park_deceleration(&made->vehicle, BW_PARK_BOTH, strong, 0.2), 0.2 * 9.81, 1e-12);
  const double weak[2] = {310.0, 470.0};
  CHECK_RELATIVE(bw_park_deceleration(&made->vehicle, BW_PARK_REAR, weak, 0.8),
                 470.0 / 0.32 / 1500.0, 1e-14);
  free_case(made);
}

static void family_judges_its_own_axle_only(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  struct bw_assessment found = {0};
  made->vehicle.adhesion = 0.8;
  made->vehicle.load[BW_LOAD_LADEN] = made->vehicle.load[BW_LOAD_UNLADEN];
  made->assess_data.park = BRAKE;
  const struct bw_assess_job job = {.loaded = made};
  assert_int_equal(BW_ASSESS_PARK.run(&job, &found, NULL), BW_OK);
  /* DES-4: a rear brake facing down 30 % on 0.8 is held by grip, if barely: 0.3065 */
  const struct bw_assess_row *down = row_of(&found, "park_hold_30", "rear, down, road");
  CHECK_CLOSE(down->limit, 4228.3, 0.05);
  CHECK_WITHIN(down->margin, 0.0, 200.0);
  assert_false(down->is_information);
  /* packed snow: 20 % cannot be held, whatever the brake; told, not judged */
  const struct bw_assess_row *snow = row_of(&found, "park_hold_20", "rear, down, snow");
  assert_true(snow->margin < 0.0 && snow->is_information);
  assert_non_null(strstr(snow->note, "grip alone"));
  assert_true(row_of(&found, "park_hold_20", "front, up, road")->is_information);
  /* after the loss, in kN */
  const struct bw_assess_row *clamp = row_of(&found, "park_clamp_20", "rear");
  CHECK_RELATIVE(clamp->result, 2885.8 * 0.32 / (4.0 * 0.31 * 0.93 * 0.117 * 0.93) * 1e-3, 1e-4);
  CHECK_CLOSE(clamp->limit, 13.7, 1e-12);
  CHECK_CLOSE(row_of(&found, "park_clamp_sensor", "rear")->limit, 60.0, 1e-12);
  assert_int_equal(bw_assessment_missed(&found), 0);
  bw_assessment_free(&found);
  /* a weak brake, and a clamp beyond the sensor */
  made->assess_data.park.clamp_force = 3100.0;
  made->assess_data.park.sensor_range = 3000.0;
  assert_int_equal(BW_ASSESS_PARK.run(&job, &found, NULL), BW_OK);
  assert_true(row_of(&found, "park_hold_20", "rear, up, road")->margin < 0.0);
  assert_true(row_of(&found, "park_clamp_20", "rear")->margin < 0.0);
  assert_true(row_of(&found, "park_clamp_sensor", "rear")->margin < 0.0);
  assert_true(bw_assessment_missed(&found) > 0);
  bw_assessment_free(&found);
  free_case(made);
}

static void no_data_is_not_assessed(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made};
  assert_int_equal(BW_ASSESS_PARK.run(&job, &found, NULL), BW_OK);
  assert_true(found.count > 0);
  for (size_t i = 0; i < found.count; i++) {
    assert_true(isnan(found.rows[i].margin));
    assert_non_null(strstr(found.rows[i].note, "no data"));
  }
  bw_assessment_free(&found);
  free_case(made);
}

static void pads_heat_as_a_node_does(void **state) {
  (void)state;
  struct bw_friction friction = {.heat_share = 0.9, .pad_heat_capacity = 1370.0};
  /* adiabatic, derived as FRI-4: (1 - share) E / C, here 202.546 kJ in 3.7 s */
  CHECK_CLOSE(bw_pad_heat_step(&friction, 300.0, 500.0, 202546.0 / 3.7, 290.0, 3.7),
              300.0 + 0.1 * 202546.0 / 1370.0, 1e-9);
  friction.pad_contact = 7.3;
  friction.pad_cooling = 2.9;
  /* steady state, derived: (P' + Gc Tr + Ga Ta)/(Gc + Ga) */
  CHECK_RELATIVE(bw_pad_heat_step(&friction, 300.0, 640.0, 9000.0, 290.0, 1e6),
                 (900.0 + 7.3 * 640.0 + 2.9 * 290.0) / 10.2, 1e-9);
  /* FRI-7 shape, derived: rise = (P'/G)(1 - exp(-G t/C)) with rotor and air alike; and a step in
   * one is a step in two */
  const double whole = bw_pad_heat_step(&friction, 290.0, 290.0, 9000.0, 290.0, 60.0);
  CHECK_RELATIVE(whole - 290.0, 900.0 / 10.2 * (1.0 - exp(-10.2 * 60.0 / 1370.0)), 1e-12);
  const double half = bw_pad_heat_step(&friction, 290.0, 290.0, 9000.0, 290.0, 30.0);
  CHECK_RELATIVE(bw_pad_heat_step(&friction, half, 290.0, 9000.0, 290.0, 30.0), whole, 1e-14);
}

static void friction_shares_of_axles_make_the_share_of_the_car(void **state) {
  (void)state;
  struct bw_brakes brakes = {.axle = {{.per_pressure = 41.0}, {.per_pressure = 17.0}}};
  const double friction[2] = {237.0, 411.0};
  const struct bw_friction_shares shares = bw_friction_shares_of(&brakes, friction, 1913.0);
  CHECK_RELATIVE(shares.car, 648.0 / 2561.0, 1e-14);
  CHECK_RELATIVE((41.0 * shares.axle[0] + 17.0 * shares.axle[1]) / 58.0, shares.car, 1e-14);
  /* all friction in its fixed proportion: 1 everywhere */
  const double alone[2] = {410.0, 170.0};
  const struct bw_friction_shares one = bw_friction_shares_of(&brakes, alone, 0.0);
  CHECK_RELATIVE(one.car, 1.0, 1e-14);
  CHECK_RELATIVE(one.axle[0], 1.0, 1e-14);
  CHECK_RELATIVE(one.axle[1], 1.0, 1e-14);
  brakes.axle[BW_REAR].per_pressure = 0.0;
  const double front_only[2] = {5.0, 0.0};
  assert_true(isnan(bw_friction_shares_of(&brakes, front_only, 5.0).axle[1]));
  const double none[2] = {0.0, 0.0};
  assert_true(isnan(bw_friction_shares_of(&brakes, none, 0.0).car));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(grade_pulls_what_statics_say),
      cmocka_unit_test(grip_limits_the_grade_of_one_axle),
      cmocka_unit_test(clamp_force_follows_the_lever),
      cmocka_unit_test(parking_brake_alone_slows_by_grip_or_torque),
      cmocka_unit_test(family_judges_its_own_axle_only),
      cmocka_unit_test(no_data_is_not_assessed),
      cmocka_unit_test(pads_heat_as_a_node_does),
      cmocka_unit_test(friction_shares_of_axles_make_the_share_of_the_car),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
