/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "assess/fault_search.h"
#include "batch/fault_plan.h"
#include "check.h"
#include "input/param.h"
#include "make_case.h"

#include <math.h>
#include <string.h>

/** Fault studies: the worst start, the windows of a cycle, the measures, the conditions. */

static const double KMH = 1.0 / 3.6;

static struct bw_case *make_fault_stop(enum bw_fault_kind kind) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  made->fault = (struct bw_fault){.kind = kind, .duration = 1e6};
  make_stop(made, 50.0 * KMH, 3.0, 30.0);
  return made;
}

static enum bw_status drive(void *context, const struct bw_case *loaded,
                            struct bw_fault_drive *drive, struct bw_diag *diag) {
  return bw_fault_drive_run(loaded, context, NULL, drive, diag);
}

static struct bw_fault_driver driver_of(const struct bw_blend_strategy *strategy) {
  /* NOLINTNEXTLINE(performance-no-int-to-ptr): drive() makes it const again */
  return (struct bw_fault_driver){drive, (void *)(uintptr_t)strategy};
}

/* the search against every tick of the manoeuvre */
static void worst_start_is_that_of_all_ticks(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_LOST);
  made->fault.duration = 0.3;
  make_machine(made, BW_FRONT, 1e5, 40e3); /* of less use while fast: the worst is in between */
  const struct bw_fault_driver driver = driver_of(&TEST_FILL);
  const struct bw_fault_aim aim = {6, BW_FAULT_BY_WAY};
  struct bw_fault_base base = {0};
  struct bw_fault_worst worst;
  assert_int_equal(bw_fault_base_make(made, &driver, 1, &base, NULL), BW_OK);
  assert_int_equal(bw_fault_search(made, &base, &driver, &aim, &worst, NULL), BW_OK);
  struct bw_fault_drive hurt = {.until = (double)INFINITY};
  double best = 0.0;
  double best_start = 0.0;
  for (size_t k = 0; k + 2 < base.sound[0].n; k++) {
    struct bw_fault_effect effect;
    made->fault.start = (double)k * made->control_period;
    assert_int_equal(bw_fault_drive_run(made, &TEST_FILL, NULL, &hurt, NULL), BW_OK);
    bw_fault_effect_find(made, &base.sound[0], &hurt, &effect);
    if (bw_fault_effect_rank(&effect, BW_FAULT_BY_WAY) > best) {
      best = bw_fault_effect_rank(&effect, BW_FAULT_BY_WAY);
      best_start = made->fault.start;
    }
  }
  assert_true(best > 1.0 && best_start > 0.1);
  const struct bw_fault_effect *found = &worst.effect;
  CHECK_WITHIN(bw_fault_effect_rank(found, BW_FAULT_BY_WAY), 0.999 * best, best);
  CHECK_CLOSE(found->start, best_start, 0.03);
  assert_true(worst.runs < 24);
  CHECK_CLOSE(found->lost, 3.0, 0.01);
  CHECK_CLOSE(found->lost_time, 0.3, 1e-6);
  CHECK_CLOSE(found->until_met, 0.3, 1e-6);
  CHECK_CLOSE(found->more_way, found->way, 0.0);
  /* all of 3 m/s2 for 0.3 s, and the sound car rests while this one still rolls */
  assert_true(found->lost_speed > 0.85);
  CHECK_CLOSE(found->gained, 0.0, 0.02);
  /* the way of the sound car, then the rest at 3 m/s2 */
  CHECK_RELATIVE(found->speed_left, sqrt(2.0 * 3.0 * found->more_way), 1e-3);
  bw_fault_drive_free(&hurt);
  bw_fault_base_free(&base);
  free_case(made);
}

/* A driver that plants the worst start at 2.3456 s, between the starts of any coarse grid: the car
 * with the fault is further by 10 m less 4 m/s^2 times the distance in time squared. */
static const double PLANTED = 2.3456;

struct planted {
  double period;
  size_t runs;
};

static enum bw_status drive_planted(void *context, const struct bw_case *loaded,
                                    struct bw_fault_drive *drive, struct bw_diag *diag) {
  (void)diag;
  struct planted *planted = context;
  struct bw_fault_row *rows = drive->row != NULL ? drive->row : bw_alloc(500, sizeof *rows);
  assert_non_null(rows);
  planted->runs++;
  const double off = loaded->fault.start - PLANTED;
  const double way = loaded->fault.kind == BW_FAULT_NONE ? 0.0 : fmax(0.0, 10.0 - 4.0 * off * off);
  for (size_t k = 0; k < 500; k++) {
    rows[k] = (struct bw_fault_row){.time = (double)(k + 1) * planted->period,
                                    .distance = (double)k + way,
                                    .margin = (double)NAN};
  }
  drive->row = rows;
  drive->n = drive->room = 500;
  return BW_OK;
}

static void planted_worst_between_the_grid_is_found(void **state) {
  (void)state;
  for (size_t moments = 3; moments <= 12; moments++) {
    struct bw_case *made = make_fault_stop(BW_FAULT_LOST);
    struct planted planted = {.period = made->control_period};
    const struct bw_fault_driver driver = {drive_planted, &planted};
    const struct bw_fault_aim aim = {moments, BW_FAULT_BY_WAY};
    struct bw_fault_base base = {0};
    struct bw_fault_worst worst;
    assert_int_equal(bw_fault_base_make(made, &driver, 1, &base, NULL), BW_OK);
    planted.runs = 0;
    assert_int_equal(bw_fault_search(made, &base, &driver, &aim, &worst, NULL), BW_OK);
    CHECK_CLOSE(worst.effect.start, PLANTED, 0.02);
    CHECK_CLOSE(worst.effect.way, 10.0, 2e-3);
    CHECK_CLOSE(made->fault.start, worst.effect.start, 0.0);
    assert_true(worst.runs == planted.runs && worst.runs <= moments + 14);
    bw_fault_base_free(&base);
    free_case(made);
  }
}

/* where no start matters more than another nothing is narrowed */
static void a_fault_that_does_nothing_is_not_searched(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_TORQUE_BIAS);
  made->fault.bias_torque = 100.0; /* a strategy that reads no estimate does not care */
  const struct bw_fault_driver driver = driver_of(&TEST_FILL);
  const struct bw_fault_aim aim = {5, BW_FAULT_BY_WAY};
  struct bw_fault_base base = {0};
  struct bw_fault_worst worst;
  assert_int_equal(bw_fault_base_make(made, &driver, 1, &base, NULL), BW_OK);
  assert_int_equal(bw_fault_search(made, &base, &driver, &aim, &worst, NULL), BW_OK);
  assert_int_equal(worst.runs, 5);
  CHECK_CLOSE(worst.effect.way, 0.0, 0.0);
  CHECK_CLOSE(worst.effect.until_met, 0.0, 0.0);
  bw_fault_base_free(&base);
  free_case(made);
}

/* a cycle with two decelerations of different power, and the fault in the stronger one */
static void a_cycle_s_faults_start_within_its_decelerations(void **state) {
  (void)state;
  static const double time[] = {0.0, 10.0, 14.0, 20.0, 30.0, 36.0, 40.0};
  static const double speed[] = {0.0, 15.0, 7.0, 7.0, 20.0, 2.0, 2.0};
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  make_trace(made, BW_TRACE_SPEED, time, speed, 7);
  made->driver.gain = 1.5;
  made->assess.event_on = 0.1;
  made->assess.event_off = 0.05;
  made->assess.event_gap = 0.5;
  made->fault = (struct bw_fault){.kind = BW_FAULT_LOST, .duration = 0.4};
  const struct bw_fault_driver driver = driver_of(&TEST_MACHINE);
  const struct bw_fault_aim aim = {6, BW_FAULT_BY_WAY};
  struct bw_fault_base base = {0};
  struct bw_fault_worst worst;
  assert_int_equal(bw_fault_base_make(made, &driver, 2, &base, NULL), BW_OK);
  assert_int_equal(base.count, 2);
  CHECK_CLOSE(base.window[0].start, 10.0, 0.3);
  CHECK_CLOSE(base.window[0].end, 14.0, 0.5);
  CHECK_CLOSE(base.window[1].start, 30.0, 0.3);
  CHECK_CLOSE(base.window[1].end, 36.0, 0.5);
  assert_true(base.window[1].power > base.window[0].power);
  assert_int_equal(bw_fault_search(made, &base, &driver, &aim, &worst, NULL), BW_OK);
  assert_true(worst.effect.start >= 30.0 && worst.effect.start < 36.5);
  CHECK_CLOSE(worst.effect.end, base.window[1].end, 1e-9);
  assert_true(worst.effect.way > 0.1 && worst.effect.lost > 2.0);
  bw_fault_base_free(&base);
  /* one wanted: the stronger */
  assert_int_equal(bw_fault_base_make(made, &driver, 1, &base, NULL), BW_OK);
  assert_int_equal(base.count, 1);
  CHECK_CLOSE(base.window[0].start, 30.0, 0.3);
  bw_fault_base_free(&base);
  free_case(made);
}

static void a_run_that_never_brakes_has_no_window(void **state) {
  (void)state;
  static const double time[] = {0.0, 10.0};
  static const double speed[] = {10.0, 20.0};
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  make_trace(made, BW_TRACE_SPEED, time, speed, 2);
  const struct bw_fault_driver driver = driver_of(&TEST_MACHINE);
  struct bw_fault_base base = {0};
  struct bw_diag diag = {0};
  assert_int_equal(bw_fault_base_make(made, &driver, 3, &base, &diag), BW_E_USAGE);
  assert_non_null(strstr(diag.line[0], "brakes nowhere"));
  free_case(made);
}

/* two made drives: measures against hand calculation */
static void measures_are_what_the_rows_say(void **state) {
  (void)state;
  struct bw_case *made = make_fault_stop(BW_FAULT_DRAG);
  made->fault.start = 0.01;
  made->assess.felt_deceleration = 0.15;
  struct bw_fault_row sound_row[3];
  struct bw_fault_row hurt_row[3];
  for (size_t k = 0; k < 3; k++) {
    sound_row[k] = (struct bw_fault_row){.time = 0.01 * (double)(k + 1),
                                         .speed = 10.0 - (double)k,
                                         .distance = 1.0 + (double)k,
                                         .mean = 2.0,
                                         .slip = 0.01,
                                         .margin = 0.1};
    hurt_row[k] = sound_row[k];
  }
  hurt_row[1].mean = 3.5;
  hurt_row[1].speed = 8.0;
  hurt_row[1].margin = -0.2;
  hurt_row[1].lock = 0.01;
  hurt_row[1].is_rear_first = true;
  hurt_row[2].mean = 1.25;
  hurt_row[2].speed = 8.75;
  hurt_row[2].slip = 0.5;
  hurt_row[2].distance = 3.75;
  hurt_row[2].shortfall = 1.0;
  const struct bw_fault_drive sound = {.n = 3, .row = sound_row, .speed = 11.0};
  const struct bw_fault_drive hurt = {.n = 3, .row = hurt_row, .speed = 11.0};
  struct bw_fault_effect effect;
  bw_fault_effect_find(made, &sound, &hurt, &effect);
  CHECK_CLOSE(effect.speed, 10.0, 0.0);
  CHECK_CLOSE(effect.lost, 0.75, 1e-12);
  CHECK_CLOSE(effect.lost_time, made->control_period, 1e-12);
  CHECK_CLOSE(effect.lost_speed, 0.75, 1e-12);
  CHECK_CLOSE(effect.gained, 1.5, 1e-12);
  CHECK_CLOSE(effect.gained_time, made->control_period, 1e-12);
  CHECK_CLOSE(effect.gained_speed, 1.0, 1e-12);
  CHECK_CLOSE(effect.way, 0.75, 1e-12);
  assert_true(isnan(effect.more_way) && isnan(effect.until_met));
  /* at 3 m: v^2 straight from 64 at 2 m to 8.75^2 at 3.75 m, over the sound car's 8 m/s */
  CHECK_CLOSE(effect.speed_left, sqrt(64.0 + (76.5625 - 64.0) / 1.75) - 8.0, 1e-12);
  CHECK_CLOSE(effect.slip, 0.5, 0.0);
  CHECK_CLOSE(effect.slip_sound, 0.01, 0.0);
  CHECK_CLOSE(effect.lock_time, 0.01, 0.0);
  CHECK_CLOSE(effect.lock_time_sound, 0.0, 0.0);
  CHECK_CLOSE(effect.margin, -0.2, 0.0);
  CHECK_CLOSE(effect.margin_sound, 0.1, 0.0);
  CHECK_CLOSE(effect.violation_time, made->control_period, 1e-12);
  CHECK_CLOSE(effect.rear_first_time, made->control_period, 1e-12);
  static const double ranks[] = {0.75 + 1.5e-3, 0.1955, 0.75, 1.5, 0.5, 0.01, 0.2, 1e6};
  for (int i = 0; i < BW_FAULT_ORDER_COUNT; i++) {
    CHECK_CLOSE(bw_fault_effect_rank(&effect, (enum bw_fault_order)i), ranks[i],
                i == BW_FAULT_BY_SPEED ? 0.25 : 1e-5);
    const char *name = bw_fault_order_name((enum bw_fault_order)i);
    assert_int_equal(bw_fault_order_find(name), i);
  }
  assert_int_equal(bw_fault_order_find("ways"), BW_FAULT_ORDER_COUNT);
  free_case(made);
}

/* a car that gains speed downhill passes a speed more than once and misses its demand each time
 * differently: a fault that does nothing is over at once, one that acts late is judged beside the
 * passing that belongs to it */
static void a_sound_car_that_speeds_up_is_its_own_measure(void **state) {
  (void)state;
  enum { ROWS = 5 };
  static const double speed[ROWS] = {9.0, 8.0, 8.5, 8.0, 7.0};
  static const double missed[ROWS] = {0.0, 0.0, 3.0, 0.0, 0.0};
  struct bw_case *made = make_fault_stop(BW_FAULT_DRAG);
  made->fault.start = 0.0;
  made->assess.felt_deceleration = 0.15;
  struct bw_fault_row sound_row[ROWS];
  struct bw_fault_row hurt_row[ROWS];
  for (size_t k = 0; k < ROWS; k++) {
    sound_row[k] = (struct bw_fault_row){.time = 0.01 * (double)(k + 1),
                                         .speed = speed[k],
                                         .shortfall = missed[k],
                                         .margin = (double)NAN};
    hurt_row[k] = sound_row[k];
  }
  const struct bw_fault_drive sound = {.n = ROWS, .row = sound_row, .speed = 9.5};
  const struct bw_fault_drive hurt = {.n = ROWS, .row = hurt_row, .speed = 9.5};
  struct bw_fault_effect effect;
  bw_fault_effect_find(made, &sound, &hurt, &effect);
  CHECK_CLOSE(effect.until_met, 0.0, 0.0);
  /* 8.4 m/s on the way up: four fifths from 0 to 3 m/s2 are the car's own */
  hurt_row[2].speed = 8.4;
  hurt_row[2].shortfall = 2.5;
  bw_fault_effect_find(made, &sound, &hurt, &effect);
  CHECK_CLOSE(effect.until_met, 0.0, 0.0);
  hurt_row[2].shortfall = 2.6;
  bw_fault_effect_find(made, &sound, &hurt, &effect);
  CHECK_CLOSE(effect.until_met, 0.03, 1e-12);
  free_case(made);
}

/* pairs: every two values of two keys come together, and in fewer points than all */
static void pairs_are_all_covered(void **state) {
  (void)state;
  static const char *const lists[] = {"battery.soc_percent=10,50,95", "road.adhesion=0.2,0.5,0.9",
                                      "vehicle.load_state=unladen,laden",
                                      "road.grade_percent=-8:8:4"};
  struct bw_param_table *table = bw_param_table_create();
  struct bw_sweep_plan axes = {.point_count = 1};
  for (size_t i = 0; i < 4; i++) {
    assert_int_equal(bw_sweep_plan_add(&axes, table, lists[i], NULL), BW_OK);
  }
  struct bw_fault_plan plan;
  assert_int_equal(bw_fault_plan_choose(&axes, BW_FAULT_CROSS_FULL, &plan, NULL), BW_OK);
  assert_int_equal(plan.count, 3 * 3 * 2 * 5);
  bw_fault_plan_free(&plan);
  assert_int_equal(bw_fault_plan_choose(&axes, BW_FAULT_CROSS_PAIRS, &plan, NULL), BW_OK);
  assert_int_equal(plan.point[0], 0);
  CHECK_WITHIN((double)plan.count, 15.0, 22.0); /* 15 = 3 x 5 is the least there can be */
  for (size_t i = 0; i < 4; i++) {
    for (size_t j = i + 1; j < 4; j++) {
      for (size_t k = 0; k < axes.axis[i].count * axes.axis[j].count; k++) {
        bool is_met = false;
        for (size_t p = 0; p < plan.count; p++) {
          is_met =
              is_met || (bw_fault_plan_place(&axes, plan.point[p], i) == k / axes.axis[j].count &&
                         bw_fault_plan_place(&axes, plan.point[p], j) == k % axes.axis[j].count);
        }
        assert_true(is_met);
      }
    }
  }
  bw_fault_plan_free(&plan);
  bw_sweep_plan_free(&axes);
  bw_param_table_destroy(table);
}

static void too_many_conditions_are_refused(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  struct bw_sweep_plan axes = {.point_count = 1};
  assert_int_equal(bw_sweep_plan_add(&axes, table, "battery.soc_percent=1:99:0.1", NULL), BW_OK);
  assert_int_equal(bw_sweep_plan_add(&axes, table, "road.adhesion=0.1:0.9:0.01", NULL), BW_OK);
  struct bw_fault_plan plan;
  struct bw_diag diag = {0};
  assert_int_equal(bw_fault_plan_choose(&axes, BW_FAULT_CROSS_FULL, &plan, &diag), BW_E_USAGE);
  assert_non_null(strstr(diag.line[0], "more than 10000"));
  assert_int_equal(bw_fault_plan_choose(&axes, BW_FAULT_CROSS_PAIRS, &plan, &diag), BW_E_USAGE);
  assert_null(plan.point);
  bw_sweep_plan_free(&axes);
  bw_param_table_destroy(table);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(worst_start_is_that_of_all_ticks),
      cmocka_unit_test(planted_worst_between_the_grid_is_found),
      cmocka_unit_test(a_fault_that_does_nothing_is_not_searched),
      cmocka_unit_test(a_cycle_s_faults_start_within_its_decelerations),
      cmocka_unit_test(a_run_that_never_brakes_has_no_window),
      cmocka_unit_test(measures_are_what_the_rows_say),
      cmocka_unit_test(a_sound_car_that_speeds_up_is_its_own_measure),
      cmocka_unit_test(pairs_are_all_covered),
      cmocka_unit_test(too_many_conditions_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
