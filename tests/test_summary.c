/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns, verdict, trace tolerance, and whole evaluations of made cases. */
#include "alloc.h"
#include "assess/cascade.h"
#include "assess/trace_band.h"
#include "assess/verdict.h"
#include "check.h"
#include "samples.h"
#include "whole_case.h"

#include <stdio.h>
#include <string.h>

static void columns_are_found_by_their_own_name_only(void **state) {
  (void)state;
  for (size_t i = 0; i < BW_SUMMARY_COUNT; i++) {
    const enum bw_summary_column column = (enum bw_summary_column)i;
    assert_int_equal(bw_summary_find(bw_summary_name(column)), column);
    assert_true(strlen(bw_summary_help(column)) > 5);
  }
  assert_int_equal(bw_summary_find("recovered"), BW_SUMMARY_COUNT);
}

static void accept(struct bw_case *made, const char *column, double min, double max) {
  struct bw_accept *limit = &made->accept[made->accept_count++];
  (void)snprintf(limit->column, sizeof limit->column, "%s", column);
  limit->has_min = !isnan(min);
  limit->has_max = !isnan(max);
  limit->min = min;
  limit->max = max;
}

static void verdict_names_what_was_missed(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  struct bw_summary summary = {0};
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_KEPT);
  assert_string_equal(summary.reason, "");

  accept(made, "dip_peak_mps2", (double)NAN, 0.3);
  accept(made, "recovered_share", 0.5, (double)NAN);
  accept(made, "mfdd_mps2", 5.0, (double)NAN);
  summary.value[BW_SUMMARY_DIP_PEAK] = 0.3;
  summary.value[BW_SUMMARY_RECOVERED_SHARE] = 0.5;
  summary.value[BW_SUMMARY_MFDD] = 5.1;
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_KEPT); /* on the limit is kept */

  summary.value[BW_SUMMARY_DIP_PEAK] = 0.31;
  summary.value[BW_SUMMARY_MFDD] = (double)NAN;
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_MISSED);
  assert_int_equal(bw_verdict_missed(made, &summary), 2);
  assert_non_null(strstr(summary.reason, "dip_peak_mps2"));
  assert_non_null(strstr(summary.reason, "mfdd_mps2 has no value"));
  assert_null(strstr(summary.reason, "recovered_share"));
  free_case(made);
}

static void broken_rule_is_judged_by_the_cars_equipment(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  struct bw_summary summary = {0};
  summary.value[BW_SUMMARY_AXLE_VIOLATIONS] = 2.0;
  summary.value[BW_SUMMARY_AXLE_VIOLATION_TIME] = 1.5;
  made->assess.has_antilock = true;
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_KEPT);
  assert_non_null(strstr(summary.reason, "balance rule broken")); /* flagged all the same */
  made->assess.has_antilock = false;
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_MISSED);
  summary.value[BW_SUMMARY_OF_RECOVERABLE_RULE] = 1.02;
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_NOT_RANKED);
  summary = (struct bw_summary){0};
  summary.value[BW_SUMMARY_ADHESION_EXCEEDED] = 0.01;
  bw_verdict_judge(made, &summary);
  assert_int_equal(summary.verdict, BW_VERDICT_NOT_RANKED);
  /* more reasons than fit stay a string */
  for (int i = 0; i < BW_ACCEPT_MAX; i++) {
    accept(made, "recovered_share", 0.9, (double)NAN);
  }
  bw_verdict_judge(made, &summary);
  assert_true(strlen(summary.reason) < sizeof summary.reason);
  free_case(made);
}

/* 2.0 km/h over the highest, under the lowest point within 1.0 s either side: EU 2017/1151
 * Annex XXI Sub-Annex 6 2.6.8.3.1, read. On a ramp of 1 m/s2 the band is 1 m/s + 2 km/h wide
 * either side of the line. */
static void trace_band_is_a_running_extreme(void **state) {
  (void)state;
  const double time[] = {0.0, 5.0, 15.0, 20.0};
  const double speed[] = {10.0, 10.0, 20.0, 20.0};
  const double room = 1.0 + 2.0 / 3.6;
  const double off[] = {0.0, room - 0.01, -room + 0.01, room + 0.01, -room - 0.01};
  struct bw_case *made = samples_case();
  make_trace(made, BW_TRACE_SPEED, time, speed, 4);
  for (size_t i = 0; i < 5; i++) {
    struct bw_trace_band band;
    assert_int_equal(bw_trace_band_start(&made->trace, &band, NULL), BW_OK);
    for (int k = 0; k < 2000; k++) {
      const double t = 0.01 * k;
      const bool is_ramp = t >= 7.0 && t < 13.0;
      const struct bw_sample sample = {.time = t,
                                       .duration = 0.01,
                                       .speed_start = is_ramp
                                                          ? 10.0 + (t - 5.0) + off[i]
                                                          : 10.0 + fmin(10.0, fmax(0.0, t - 5.0))};
      bw_trace_band_watch(&band, &sample);
    }
    CHECK_CLOSE(band.outside, i < 3 ? 0.0 : 6.0, 1e-9);
    assert_int_equal(band.excursions, i < 3 ? 0 : 1);
    CHECK_CLOSE(band.longest, i < 3 ? 0.0 : 6.0, 1e-9);
    bw_trace_band_free(&band);
  }
  free_case(made);
}

/* rows of the events against the summary, column by column */
static void check_sums(const struct bw_evaluation *found) {
  double demanded = 0.0;
  double delivered = 0.0;
  double battery = 0.0;
  double plant = 0.0;
  double rule = 0.0;
  double front = 0.0;
  double dips = 0.0;
  double peak = 0.0;
  for (size_t i = 0; i < found->event_count; i++) {
    const struct bw_event *event = &found->events[i];
    demanded += event->demanded;
    delivered += event->delivered;
    battery += event->battery;
    plant += event->recoverable_plant;
    rule += event->recoverable_rule;
    front += event->friction_front;
    dips += event->speed_not_taken_off;
    peak = fmax(peak, event->dip_peak);
  }
  const double *value = found->summary.value;
  CHECK_CLOSE(demanded, 1e3 * value[BW_SUMMARY_ENERGY_DEMANDED], 1e-6);
  CHECK_CLOSE(delivered, 1e3 * value[BW_SUMMARY_ENERGY_DELIVERED], 1e-6);
  CHECK_CLOSE(battery, 1e3 * value[BW_SUMMARY_ENERGY_BATTERY], 1e-6);
  CHECK_CLOSE(plant, 1e3 * value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT], 1e-6);
  CHECK_CLOSE(rule, 1e3 * value[BW_SUMMARY_ENERGY_RECOVERABLE_RULE], 1e-6);
  CHECK_CLOSE(front, 1e3 * value[BW_SUMMARY_ENERGY_FRICTION_FRONT], 1e-6);
  CHECK_CLOSE(dips, value[BW_SUMMARY_SPEED_NOT_TAKEN_OFF], 1e-9);
  CHECK_CLOSE(peak, value[BW_SUMMARY_DIP_PEAK], 0.0);
}

static struct bw_case *two_stops(void) {
  const double time[] = {0.0, 2.0, 12.0, 20.0, 26.0, 34.0, 44.0, 52.0, 55.0};
  const double speed[] = {0.0, 0.0, 20.0, 20.0, 8.0, 15.0, 15.0, 0.0, 0.0};
  struct bw_case *made = make_case();
  make_trace(made, BW_TRACE_SPEED, time, speed, 9);
  make_machine(made, BW_FRONT, 2000.0, 3e4);
  made->machine[BW_FRONT].loss_k0 = 100.0;
  made->machine[BW_FRONT].loss_kt = 2e-3;
  made->machine[BW_FRONT].lag = 0.01;
  made->machine[BW_FRONT].dead_time = 0.005;
  make_friction_delay(made, 0.03, 0.1);
  made->battery.auxiliaries = 400.0;
  return made;
}

static void whole_evaluation_hangs_together(void **state) {
  (void)state;
  struct bw_case *made = two_stops();
  const struct bw_blend_strategy *strategies[] = {&TEST_FRICTION, &TEST_FILL, &TEST_SIXTY};
  double trace = 0.0;
  for (size_t i = 0; i < 3; i++) {
    struct bw_evaluation found = evaluate_case(made, strategies[i]);
    const double *value = found.summary.value;
    check_sums(&found);
    assert_string_equal(found.summary.strategy, strategies[i]->name);
    CHECK_CLOSE(value[BW_SUMMARY_BRAKING_EVENTS], 2.0, 0.0);
    CHECK_WITHIN(value[BW_SUMMARY_KINEMATIC_CHECK], 0.0, 1e-5);
    CHECK_WITHIN(value[BW_SUMMARY_ENERGY_BATTERY], -100.0,
                 value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT]);
    CHECK_WITHIN(value[BW_SUMMARY_ENERGY_DC], -100.0, value[BW_SUMMARY_ENERGY_SHAFT]);
    /* friction of 0 and all else is accounted for */
    CHECK_CLOSE(value[BW_SUMMARY_ENERGY_DC] - value[BW_SUMMARY_ENERGY_AUXILIARIES],
                value[BW_SUMMARY_ENERGY_BATTERY], 1e-9);
    trace = i == 0 ? value[BW_SUMMARY_ENERGY_TRACE] : trace;
    CHECK_CLOSE(value[BW_SUMMARY_ENERGY_TRACE], trace, 0.0);
    assert_true(isnan(value[BW_SUMMARY_MFDD]));
    CHECK_CLOSE(value[BW_SUMMARY_LIMIT_NONE_TIME] + value[BW_SUMMARY_LIMIT_PEAK_POWER_TIME] +
                    value[BW_SUMMARY_LIMIT_PEAK_TORQUE_TIME],
                1.0, 1e-9);
    bw_evaluation_free(&found);
    assert_null(found.events);
  }
  free_case(made);
}

/* linear trace: braking work of 20 -> 8 m/s in 6 s and 15 -> 0 in 8 s less the road load, closed
 * form for straight speed, derived */
static void trace_work_is_the_closed_form(void **state) {
  (void)state;
  struct bw_case *made = two_stops();
  const struct bw_judge judge = bw_judge_make(made);
  const double a = made->vehicle.road_f0;
  const double c = made->vehicle.road_f2;
  const double pairs[2][3] = {{20.0, 8.0, 6.0}, {15.0, 0.0, 8.0}};
  double work = 0.0;
  for (size_t i = 0; i < 2; i++) {
    const double v = pairs[i][0];
    const double w = pairs[i][1];
    const double t = pairs[i][2];
    work += 0.5 * 1500.0 * (v * v - w * w) - a * 0.5 * (v + w) * t -
            c * t * (v + w) * (v * v + w * w) / 4.0;
  }
  CHECK_RELATIVE(bw_cascade_trace_work(&judge), work, 1e-6);
  free_case(made);
}

/* a published cycle, joined by smoothed lines, summed in steps too short to matter: the sum in the
 * program must not depend on where braking begins inside its own steps */
static void trace_work_does_not_feel_its_step(void **state) {
  (void)state;
  const double fine = 5e-4; /* s */
  struct bw_case *made = make_case();
  bw_trace_free(&made->trace);
  assert_int_equal(bw_trace_read("cases/cycles/nycc.csv", 0.2, &made->trace, NULL), BW_OK);
  const struct bw_judge judge = bw_judge_make(made);
  struct bw_trace_cursor cursor = {0};
  double work = 0.0;
  const size_t steps = (size_t)lround(bw_trace_duration(&made->trace) / fine);
  for (size_t i = 0; i < steps; i++) {
    double v = 0.0;
    double a = 0.0;
    bw_trace_at(&made->trace, &cursor, ((double)i + 0.5) * fine, &v, &a);
    const double force =
        judge.mass_effective * a + made->vehicle.road_f0 + made->vehicle.road_f2 * v * v;
    work += force < 0.0 ? -force * v * fine : 0.0;
  }
  CHECK_RELATIVE(bw_cascade_trace_work(&judge), work, 2e-5);
  free_case(made);
}

struct countdown {
  int left;
};

static bool count_down(void *context) {
  struct countdown *countdown = context;
  return countdown->left-- > 0;
}

static void lack_of_memory_is_reported_and_leaves_nothing(void **state) {
  (void)state;
  struct bw_case *made = two_stops();
  bool is_done = false;
  for (int n = 0; n < 50 && !is_done; n++) {
    struct countdown countdown = {n};
    struct bw_evaluation found;
    memset(&found, 0xff, sizeof found);
    bw_alloc_set_hook(count_down, &countdown);
    const enum bw_status status = bw_evaluate(made, &TEST_FILL, NULL, &found, NULL);
    bw_alloc_set_hook(NULL, NULL);
    is_done = status == BW_OK;
    if (!is_done) {
      assert_int_equal(status, BW_E_MEMORY);
      assert_null(found.events);
      assert_int_equal(found.event_count, 0);
    }
    bw_evaluation_free(&found);
    assert_true(is_done || n < 49);
  }
  assert_true(is_done);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(columns_are_found_by_their_own_name_only),
      cmocka_unit_test(verdict_names_what_was_missed),
      cmocka_unit_test(broken_rule_is_judged_by_the_cars_equipment),
      cmocka_unit_test(trace_band_is_a_running_extreme),
      cmocka_unit_test(whole_evaluation_hangs_together),
      cmocka_unit_test(trace_work_is_the_closed_form),
      cmocka_unit_test(trace_work_does_not_feel_its_step),
      cmocka_unit_test(lack_of_memory_is_reported_and_leaves_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
