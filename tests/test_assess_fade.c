/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess_rows.h"
#include "batch/assess_descent.h"
#include "batch/assess_fade.h"
#include "batch/assess_response.h"
#include "batch/assess_stops.h"
#include "batch/watch_run.h"
#include "check.h"
#include "input/descent_read.h"
#include "make_case.h"

#include <string.h>

/** Heating, descents, response and machines that trip on the way, against closed forms. */

static const double KMH = 1.0 / 3.6;
static const double ZERO = 273.15;

/* RV-1 of 2000 kg without road load, a machine that drives and discs that keep their heat */
static struct bw_case *hot_case(void) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f1 = made->vehicle.road_f2 = 0.0;
  made->vehicle.load[BW_LOAD_LADEN] = made->vehicle.load[BW_LOAD_UNLADEN];
  made->vehicle.load[BW_LOAD_LADEN].mass = 2000.0;
  made->vehicle.load_state = BW_LOAD_LADEN;
  make_machine(made, BW_FRONT, 3e3, 90e3);
  for (int i = 0; i < 2; i++) {
    made->brakes.axle[i].cooling = made->brakes.axle[i].cooling_speed = 0.0;
    made->brakes.axle[i].radiating_area = 0.0;
  }
  make_trace(made, BW_TRACE_DECEL, (const double[]){0.0, 1.0}, (const double[]){0.0, 0.0}, 2);
  return made;
}

/* pads of both axles: friction over temperature (K) */
static void fit_pads(struct bw_case *made, const double *temperature, const double *friction,
                     size_t count) {
  for (int i = 0; i < 2; i++) {
    assert_int_equal(bw_table1_make(temperature, friction, count, &made->brakes.axle[i].pad, NULL),
                     BW_OK);
  }
}

static void snubs_release_three_eighths_of_the_energy(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  struct bw_case *copy = bw_assess_case(made, BW_LOAD_LADEN, BW_STOP_CHARGE_FULL);
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  struct bw_fade_found found;
  assert_int_equal(bw_assess_heat(&job, copy, &found, NULL), BW_OK);
  assert_int_equal(found.snubs, 15);
  /* 15 from 120 to 60 km/h every 45 s at 3 m/s2: 71/320/EEC Annex II 1.3.1, read */
  CHECK_CLOSE(found.speed, 120.0 * KMH, 1e-12);
  CHECK_CLOSE(found.cycle, 45.0, 0.0);
  CHECK_CLOSE(found.first, 3.0, 2e-3);
  /* derived: (3/8) m v1^2 each, 833 kJ and 12.5 MJ in all for 2000 kg; a period late at most */
  const double energy = 15.0 * 0.375 * 2000.0 * found.speed * found.speed;
  CHECK_CLOSE(energy, 12.5e6, 1.0);
  CHECK_RELATIVE(found.friction[0] + found.friction[1], energy, 2e-3);
  CHECK_RELATIVE(found.friction[0], 2.0 * found.friction[1], 1e-9);
  /* FRI-4, derived: adiabatic rise = share x energy / heat capacity */
  for (int i = 0; i < 2; i++) {
    CHECK_RELATIVE(found.end.rotor[i] - made->brakes.axle[i].start_temperature,
                   0.9 * found.friction[i] / 6000.0, 1e-9);
    CHECK_CLOSE(found.rotor_peak[i], found.end.rotor[i], 1e-9);
  }
  bw_assess_case_free(copy);
  free_case(made);
}

static void fading_pads_lose_deceleration_at_a_constant_pedal(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  const double temperature[] = {200.0, 300.0, 700.0};
  const double friction[] = {0.4, 0.4, 0.2};
  fit_pads(made, temperature, friction, 3);
  struct bw_case *copy = bw_assess_case(made, BW_LOAD_LADEN, BW_STOP_CHARGE_FULL);
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  struct bw_fade_found found;
  assert_int_equal(bw_assess_heat(&job, copy, &found, NULL), BW_OK);
  CHECK_CLOSE(found.first, 3.0, 2e-3);
  assert_true(found.last < 0.9 * found.first);
  bw_assess_case_free(copy);
  free_case(made);
}

static void stops_in_a_row_follow_the_series(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  /* FRI-6, derived: dT = 59.757 K, hA = 4 W/K, m c = 3220 J/K, every 60 s; rise just after stop n
   * dT (1 - x^n)/(1 - x): 59.8, 258.8, 437.2 K after 1, 5, 10 */
  for (int i = 0; i < 2; i++) {
    made->brakes.axle[i].heat_capacity = 3220.0;
    made->brakes.axle[i].cooling = 4.0;
  }
  made->ambient_temperature = 293.15;
  struct bw_warmth warmth = bw_warmth_start(made);
  static const double wanted[] = {59.8, 258.8, 437.2};
  for (int n = 1; n <= 10; n++) {
    warmth.rotor[0] += 59.757;
    if (n == 1 || n % 5 == 0) {
      CHECK_CLOSE(warmth.rotor[0] - 293.15, wanted[n / 5], 0.06);
    }
    bw_warmth_cool(made, 10.0, 20.0, 60.0, &warmth);
  }
  free_case(made);
}

static void drive_time_is_that_of_constant_power(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  /* KIN-8, derived: t = m (v1^2 - v0^2) / (2 P) above the corner speed */
  CHECK_RELATIVE(bw_assess_drive_time(made, 20.0, 33.0),
                 2000.0 * (33.0 * 33.0 - 400.0) / (2.0 * 90e3), 1e-4);
  made->machine[BW_FRONT].is_fitted = false;
  assert_true(isinf(bw_assess_drive_time(made, 20.0, 33.0)));
  free_case(made);
}

static void descents_turn_height_into_heat(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  assert_int_equal(BW_ASSESS_DESCENT.run(&job, &found, NULL), BW_OK);
  /* derived, 2000 kg: 6 % over 6 km 359.3 m and 7.05 MJ, 9.79 kW; 7 % 8.22 MJ, 11.4 kW at 30 km/h;
   * a period's way more or less at the end */
  const struct bw_assess_row *six = row_of(&found, "descent_friction", "6 %, 6 km, battery full");
  const struct bw_assess_row *seven = row_of(&found, "descent_friction", "7 %, 6 km, battery full");
  const double per_sine = 2000.0 * 9.81 * 6000.0 * 1e-3;
  CHECK_RELATIVE(six->result, per_sine * sin(atan(0.06)), 1e-4);
  CHECK_CLOSE(six->result, 7050.0, 5.0);
  CHECK_RELATIVE(seven->result, per_sine * sin(atan(0.07)), 1e-4);
  CHECK_CLOSE(seven->result, 8220.0, 5.0);
  /* adiabatic: two thirds at the front */
  CHECK_CLOSE(row_of(&found, "descent_rotor_front", "6 %, 6 km, battery full")->result,
              293.15 - ZERO + 0.9 * six->result * 1e3 * 2.0 / 3.0 / 6000.0, 0.05);
  CHECK_CLOSE(row_of(&found, "descent_regen_end", "6 %, 6 km, own")->result, 0.0, 0.0);
  /* there is no cold stop here whose pedal it could take */
  assert_true(isnan(row_of(&found, "hot_stop_distance", "6 %, 6 km, battery full")->margin));
  assert_int_equal(found.descent_count, 4);
  const struct bw_descent *kept = &found.descents[0];
  assert_int_equal(kept->count, BW_DESCENT_STRETCHES);
  const struct bw_descent_point *last = &kept->point[kept->count - 1];
  CHECK_CLOSE(last->distance, 6000.0, 0.1);
  CHECK_CLOSE(last->time, 720.0, 0.5);
  CHECK_RELATIVE(last->friction_power, 9790.0, 2e-3);
  bw_assessment_free(&found);
  free_case(made);
}

static void regeneration_ends_where_the_battery_is_full(void **state) {
  (void)state;
  struct bw_descent descent = {.count = 4};
  for (size_t k = 0; k < 4; k++) {
    descent.point[k] = (struct bw_descent_point){.distance = 100.0 * (double)(k + 1),
                                                 .machine_power = 2000.0,
                                                 .friction_power = 8000.0,
                                                 .battery_power = k < 2 ? 1100.0 : 900.0};
  }
  CHECK_CLOSE(bw_descent_regeneration_end(&descent), 200.0, 0.0);
  descent.point[3].battery_power = 1100.0;
  CHECK_CLOSE(bw_descent_regeneration_end(&descent), 400.0, 0.0);
  for (size_t k = 0; k < 4; k++) {
    descent.point[k].battery_power = -50.0;
  }
  CHECK_CLOSE(bw_descent_regeneration_end(&descent), 0.0, 0.0);
}

static void own_descent_has_its_steady_power(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  /* DES-1, derived: 2000 kg, f 0.01, CdA 0.6: 8 % at 60 km/h 1268.86 N, 21.148 kW */
  made->vehicle.road_f0 = 2000.0 * 9.81 * 0.01 * cos(atan(0.08));
  made->vehicle.road_f2 = 0.5 * 1.202 * 0.6;
  const double distance[] = {0.0, 700.0, 2000.0};
  const double speed[] = {60.0 * KMH, 60.0 * KMH, 60.0 * KMH};
  const double slope = -sin(atan(0.08));
  const double sines[] = {slope, slope, slope};
  const struct bw_descent_points points = {3, distance, speed, sines};
  assert_int_equal(bw_descent_make(&points, &made->assess_data.descent, NULL), BW_OK);
  CHECK_RELATIVE(bw_trace_duration(&made->assess_data.descent), 2000.0 / (60.0 * KMH), 1e-12);
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  assert_int_equal(BW_ASSESS_DESCENT.run(&job, &found, NULL), BW_OK);
  assert_int_equal(found.descent_count, 6);
  const struct bw_descent *own = &found.descents[4];
  CHECK_RELATIVE(own->point[own->count - 1].friction_power, 21148.0, 1e-4);
  bw_assessment_free(&found);
  bw_trace_free(&made->assess_data.descent);
  free_case(made);
}

/* cold stops first, then what builds on them */
static void assess_behind_stops(const struct bw_case *made,
                                const struct bw_blend_strategy *strategy,
                                const struct bw_assess_family *family,
                                struct bw_assessment *found) {
  const struct bw_assess_job job = {.loaded = made, .strategy = strategy};
  assert_int_equal(bw_assess_stops(&job, found, NULL), BW_OK);
  assert_int_equal(family->run(&job, found, NULL), BW_OK);
}

static void response_is_dead_time_lag_and_pedal(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  const double dead = 0.06;
  const double lag = 0.11;
  make_friction_delay(made, dead, lag);
  struct bw_assessment found = {0};
  assess_behind_stops(made, &TEST_FRICTION, &BW_ASSESS_RESPONSE, &found);
  /* the first cold stop, battery full */
  const struct bw_assess_row *cold = row_of(&found, "cold_stop_mfdd", "");
  assert_int_equal(cold->charge, BW_STOP_CHARGE_FULL);
  /* derived: behind a ramp of length T the first-order lag is at
   * y = 1 - (lag/T)(exp(T/lag) - 1) exp(-t/lag), t from the dead time on, t > T */
  const double share = 6.43 / cold->result;
  const double ramp = BW_STOP_BUILD;
  const double level = (1.0 - share) * ramp / (lag * (exp(ramp / lag) - 1.0));
  const double wanted = dead - lag * log(level);
  assert_true(wanted - dead > ramp);
  /* the command steps once per 10 ms and the mean of a period is looked at */
  const struct bw_assess_row *axle = row_of(&found, "response_axle", "");
  CHECK_WITHIN(axle->result, wanted - 0.01, wanted + 0.02);
  CHECK_CLOSE(axle->limit, 0.6, 0.0);
  CHECK_CLOSE(row_of(&found, "response_car", "")->result, axle->result, 1e-12);
  bw_assessment_free(&found);
  free_case(made);
}

static void slow_brakes_miss_the_response(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  make_friction_delay(made, 0.3, 0.4);
  struct bw_assessment found = {0};
  assess_behind_stops(made, &TEST_FRICTION, &BW_ASSESS_RESPONSE, &found);
  assert_true(row_of(&found, "response_axle", "")->margin < 0.0);
  bw_assessment_free(&found);
  free_case(made);
}

static void trip_costs_what_the_machine_gave(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  make_steps(made, 0.01, 10);
  made->fault.detection = 0.0;
  struct bw_assessment found = {0};
  assess_behind_stops(made, &TEST_FRICTION, &BW_ASSESS_RESPONSE, &found);
  /* nothing was taken from a car that does not brake by machine */
  CHECK_CLOSE(row_of(&found, "trip_added_distance", "")->result, 0.0, 1e-9);
  bw_assessment_free(&found);
  /* whose machines brake alone it is left with nothing: not assessed, no silent pass */
  made->machine[BW_FRONT].shaft_torque_peak = made->machine[BW_FRONT].shaft_torque_continuous =
      2900.0;
  made->machine[BW_FRONT].power_peak = 1e9;
  assess_behind_stops(made, &TEST_MACHINE, &BW_ASSESS_RESPONSE, &found);
  const struct bw_assess_row *trip = row_of(&found, "trip_distance", "trip");
  assert_true(isnan(trip->margin));
  assert_non_null(strstr(trip->note, "rest"));
  bw_assessment_free(&found);
  free_case(made);
}

/* pads that fade above 400 K, on discs as warm at the end as at the start */
static struct bw_case *fading_case(void) {
  struct bw_case *made = hot_case();
  const double temperature[] = {200.0, 400.0, 800.0};
  const double friction[] = {0.4, 0.4, 0.2};
  fit_pads(made, temperature, friction, 3);
  made->brakes.axle[0].heat_capacity = made->brakes.axle[1].heat_capacity = 1e9;
  return made;
}

static void hot_stop_tells_the_share_of_the_cold_one(void **state) {
  (void)state;
  struct bw_case *made = fading_case();
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  assert_int_equal(bw_assess_stops(&job, &found, NULL), BW_OK);
  const struct bw_assess_row row = {.strategy = &TEST_FRICTION,
                                    .load = BW_LOAD_LADEN,
                                    .charge = BW_STOP_CHARGE_FULL,
                                    .is_connected = true,
                                    .condition = "made hot"};
  /* derived: pad friction 0.25 of 0.4 at 700 K, and nothing else brakes */
  const struct bw_warmth warmth = {.rotor = {700.0, 700.0}, .machine = {300.0, 300.0}};
  assert_int_equal(bw_assess_hot_stop(&job, &row, &warmth, &found, NULL), BW_OK);
  CHECK_CLOSE(row_of(&found, "hot_stop_of_cold", "made hot")->result, 0.25 / 0.4, 2e-3);
  /* limits from memory: UN R13-H Annex 3 1.5.2, 90 m, 4.82 m/s2, 60 % */
  CHECK_CLOSE(row_of(&found, "hot_stop_distance", "made hot")->limit, 90.0, 1e-9);
  CHECK_CLOSE(row_of(&found, "hot_stop_mfdd", "made hot")->limit, 4.82, 0.0);
  CHECK_CLOSE(row_of(&found, "hot_stop_of_cold", "made hot")->limit, 0.6, 0.0);
  assert_true(row_of(&found, "hot_stop_mfdd", "made hot")->margin > -1.0);
  bw_assessment_free(&found);
  free_case(made);
}

static struct bw_assessment recovered(struct bw_case *made, const struct bw_warmth *warmth) {
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  const struct bw_assess_row row = {.strategy = &TEST_FRICTION,
                                    .load = BW_LOAD_LADEN,
                                    .charge = BW_STOP_CHARGE_FULL,
                                    .is_connected = true,
                                    .condition = "recovered"};
  assert_int_equal(bw_assess_stops(&job, &found, NULL), BW_OK);
  assert_int_equal(bw_assess_recovery(&job, &row, warmth, &found, NULL), BW_OK);
  return found;
}

static void recovery_holds_the_pads_against_the_cold_stop(void **state) {
  (void)state;
  struct bw_case *made = fading_case();
  /* derived: discs that cannot cool stay at 700 K, pad friction 0.25 of 0.4 */
  const struct bw_warmth hot = {.rotor = {700.0, 700.0}, .machine = {300.0, 300.0}};
  struct bw_assessment found = recovered(made, &hot);
  const struct bw_assess_row *least = row_of(&found, "recovery_least", "recovered");
  CHECK_CLOSE(least->result, 0.25 / 0.4, 2e-3);
  /* limits from memory: UN R13-H Annex 3 1.5.3, 70 % and 150 % of the cold stop */
  CHECK_CLOSE(least->limit, 0.70, 0.0);
  assert_true(least->margin < 0.0);
  CHECK_CLOSE(row_of(&found, "recovery_most", "recovered")->limit, 1.50, 0.0);
  assert_true(row_of(&found, "recovery_most", "recovered")->margin > 0.0);
  bw_assessment_free(&found);
  free_case(made);
}

/* derived: with a friction that does not depend on heat the recovered stop is the cold one; from
 * 100 km/h once and 50 km/h four times all energy goes to the discs, (1 + 4/4) m v^2/2 */
static void recovery_heats_by_five_stops(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  const double temperature[] = {200.0, 300.0, 301.0, 9000.0};
  const double friction[] = {0.4, 0.4, 0.4, 0.4};
  const double start = made->brakes.axle[0].start_temperature;
  fit_pads(made, temperature, friction, 4);
  const struct bw_warmth cold = {.rotor = {start, start}, .machine = {300.0, 300.0}};
  struct bw_assessment found = recovered(made, &cold);
  CHECK_CLOSE(row_of(&found, "recovery_least", "recovered")->result, 1.0, 1e-6);
  bw_assessment_free(&found);
  /* the front takes two thirds, 0.9 of it into 6000 J/K; pads bite 40 % less from just below that
   * temperature on, so the share tells that the heat arrived, and that it is no more */
  const double energy = 0.5 * 2000.0 * (100.0 * KMH) * (100.0 * KMH) * 2.0;
  const double rise = 0.9 * energy * (2.0 / 3.0) / 6000.0;
  const double steps[] = {start - 200.0, start + 0.97 * rise, start + 0.98 * rise, start + 9e3};
  const double less[] = {0.4, 0.4, 0.24, 0.24};
  assert_int_equal(bw_table1_make(steps, less, 4, &made->brakes.axle[0].pad, NULL), BW_OK);
  found = recovered(made, &cold);
  CHECK_CLOSE(row_of(&found, "recovery_least", "recovered")->result, 1.0 - 0.4 * 2.0 / 3.0, 5e-3);
  bw_assessment_free(&found);
  const double later[] = {start - 200.0, start + 2.02 * rise, start + 2.03 * rise, start + 9e3};
  assert_int_equal(bw_table1_make(later, less, 4, &made->brakes.axle[0].pad, NULL), BW_OK);
  found = recovered(made, &cold);
  CHECK_CLOSE(row_of(&found, "recovery_least", "recovered")->result, 1.0, 5e-3);
  bw_assessment_free(&found);
  free_case(made);
}

static void booster_leaves_what_the_foot_gives(void **state) {
  (void)state;
  struct bw_case *made = hot_case();
  made->assess_data.booster_fallback = 11e5;
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  assert_int_equal(bw_assess_stops(&job, &found, NULL), BW_OK);
  /* derived: torque per pressure of both axles times what is above the threshold */
  double torque = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &made->brakes.axle[i];
    torque += (11e5 - friction->threshold) * friction->per_pressure;
  }
  bool is_seen = false;
  for (size_t i = 0; i < found.count; i++) {
    const struct bw_assess_row *row = &found.rows[i];
    if (row->requirement == bw_requirement_at(BW_REQUIREMENT_BOOSTER_DECELERATION) &&
        row->load == BW_LOAD_LADEN) {
      CHECK_RELATIVE(row->result, torque / 0.32 / 2000.0, 1e-6);
      is_seen = true;
    }
  }
  assert_true(is_seen);
  bw_assessment_free(&found);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(snubs_release_three_eighths_of_the_energy),
      cmocka_unit_test(fading_pads_lose_deceleration_at_a_constant_pedal),
      cmocka_unit_test(stops_in_a_row_follow_the_series),
      cmocka_unit_test(drive_time_is_that_of_constant_power),
      cmocka_unit_test(descents_turn_height_into_heat),
      cmocka_unit_test(regeneration_ends_where_the_battery_is_full),
      cmocka_unit_test(own_descent_has_its_steady_power),
      cmocka_unit_test(response_is_dead_time_lag_and_pedal),
      cmocka_unit_test(slow_brakes_miss_the_response),
      cmocka_unit_test(trip_costs_what_the_machine_gave),
      cmocka_unit_test(hot_stop_tells_the_share_of_the_cold_one),
      cmocka_unit_test(recovery_holds_the_pads_against_the_cold_stop),
      cmocka_unit_test(recovery_heats_by_five_stops),
      cmocka_unit_test(booster_leaves_what_the_foot_gives),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
