/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Braking events: stops with known deceleration, hysteresis, merging, sums. */
#include "assess/events.h"
#include "check.h"
#include "samples.h"

static const double PER_MASS = 1500.0 * 0.32; /* N m per m/s2, RV-1 */

struct course {
  const struct bw_judge *judge;
  struct bw_events events;
  double time;
  double speed;
};

static struct course course_start(const struct bw_judge *judge, double speed) {
  return (struct course){.judge = judge, .events = bw_events_start(judge), .speed = speed};
}

/* brake (or not) for `duration`; each period adds 1 J of delivered work */
static void drive(struct course *course, double demand, double deceleration, double duration) {
  const struct sample_torques torques = {.demand = demand * PER_MASS,
                                         .friction = {deceleration * PER_MASS, 0.0}};
  struct bw_sample sample =
      sample_held(course->judge, course->time, course->speed, duration, &torques);
  if (sample.speed_end < 1e-9) {
    sample.speed_end = 0.0; /* rest, but for rounding */
  }
  struct bw_event slice = bw_event_empty();
  slice.distance = sample.distance;
  slice.deceleration_peak = deceleration;
  slice.delivered = 1.0;
  assert_int_equal(bw_events_watch(&course->events, &sample, &slice, NULL), BW_OK);
  course->time += duration;
  course->speed = sample.speed_end;
}

/* brake at `deceleration` down to `speed` in `periods` equal periods */
static void brake_to(struct course *course, double deceleration, double speed, int periods) {
  const double duration = (course->speed - speed) / deceleration / periods;
  for (int i = 0; i < periods; i++) {
    drive(course, deceleration, deceleration, duration);
  }
  course->speed = speed; /* no rounding left over */
}

static const struct bw_event *finish(struct course *course, struct bw_summary *summary) {
  assert_int_equal(bw_events_finish(&course->events, summary, NULL), BW_OK);
  return course->events.list;
}

/* a car at rest brakes nothing, whatever its brakes still do before it pulls away */
static void a_car_that_stands_does_not_brake(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  struct course course = course_start(&judge, 0.0);
  const struct sample_torques torques = {.demand = 237.0, .friction = {400.0, 0.0}};
  struct bw_sample sample = sample_held(&judge, 0.0, 3.0, 0.01, &torques);
  struct bw_period period;
  bw_period_read(&judge, &sample, &period);
  assert_true(period.is_braking && period.torque > BW_BRAKING_TORQUE);
  sample.distance = sample.speed_start = sample.speed_end = 0.0;
  sample.battery_work = -4.5; /* auxiliaries */
  bw_period_read(&judge, &sample, &period);
  assert_false(period.is_braking);
  CHECK_CLOSE(period.battery, 0.0, 0.0);
  drive(&course, 1.0, 0.0, 0.01);
  assert_int_equal(bw_events_current(&course.events), 0);
  course.speed = 3.0;
  drive(&course, 1.0, 1.0, 0.01);
  assert_int_equal(bw_events_current(&course.events), 1);
  struct bw_summary summary;
  (void)finish(&course, &summary);
  bw_events_free(&course.events);
  free_case(made);
}

/* STOP-5 and STOP-6: formula as read in UN GRRF-56-3; a constant deceleration gives itself,
 * whatever the build-up above 0.8 v0 (identity, derived) */
static void constant_deceleration_is_its_own_mfdd(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  const double v0 = 100.0 / 3.6;
  for (int late = 0; late < 2; late++) {
    struct course course = course_start(&judge, v0);
    double distance = 0.0;
    if (late == 1) {
      brake_to(&course, 1.3, 0.85 * v0, 37);
      distance = (v0 * v0 - course.speed * course.speed) / 2.6;
    }
    distance += course.speed * course.speed / (2.0 * 6.0);
    brake_to(&course, 6.0, 0.0, 211);
    struct bw_summary summary;
    const struct bw_event *event = finish(&course, &summary);
    assert_int_equal(course.events.count, 2); /* and the remainder */
    CHECK_RELATIVE(event->mfdd, 6.0, 1e-9);
    CHECK_RELATIVE(event->stopping_distance, distance, 1e-9);
    CHECK_RELATIVE(summary.value[BW_SUMMARY_MFDD], 6.0, 1e-9);
    CHECK_RELATIVE(summary.value[BW_SUMMARY_STOPPING_DISTANCE], distance, 1e-9);
    bw_events_free(&course.events);
  }
  free_case(made);
}

/* STOP-7, derived: 100 km/h, 6 m/s2 except 5 m/s2 between 40 and 30 km/h: 41.4095 m, 5.86957 */
static void a_dip_in_the_middle_lowers_the_mfdd(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  struct course course = course_start(&judge, 100.0 / 3.6);
  brake_to(&course, 6.0, 40.0 / 3.6, 150);
  brake_to(&course, 5.0, 30.0 / 3.6, 50);
  brake_to(&course, 6.0, 0.0, 130);
  CHECK_CLOSE(course.events.crossed[1] - course.events.crossed[0], 41.4095, 5e-5);
  struct bw_summary summary;
  const struct bw_event *event = finish(&course, &summary);
  CHECK_CLOSE(event->mfdd, 5.86957, 5e-6);
  /* no number is made up for a speed trace */
  made->trace.kind = BW_TRACE_SPEED;
  course.events.count--;
  assert_int_equal(bw_events_finish(&course.events, &summary, NULL), BW_OK);
  assert_true(isnan(summary.value[BW_SUMMARY_MFDD]));
  bw_events_free(&course.events);
  free_case(made);
}

static void gaps_are_merged_and_hysteresis_holds(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  struct course course = course_start(&judge, 30.0);
  const struct {
    double demand;
    int periods;
  } steps[] = {
      {0.09, 10},             /* below the start: remainder */
      {0.5, 20},  {0.06, 20}, /* above 0.05 it goes on */
      {0.0, 49},  {0.5, 10},  /* a gap of 0.49 s is taken in */
      {0.0, 50},              /* one of 0.5 s ends it where the gap began */
      {0.5, 10},  {0.04, 80}, /* the second event; its pause belongs to nobody */
      {0.5, 5},               /* the third is open at the end */
  };
  int total = 0;
  for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
    total += steps[i].periods;
    for (int j = 0; j < steps[i].periods; j++) {
      drive(&course, steps[i].demand, steps[i].demand, 0.01);
    }
  }
  assert_int_equal(bw_events_current(&course.events), 3);
  struct bw_summary summary;
  const struct bw_event *event = finish(&course, &summary);
  assert_int_equal(course.events.count, 4);
  CHECK_CLOSE(summary.value[BW_SUMMARY_BRAKING_EVENTS], 3.0, 0.0);
  const double delivered[] = {99.0, 10.0, 5.0, 10.0 + 50.0 + 80.0};
  const double ends[] = {1.09, 1.69, 2.54};
  double sum = 0.0;
  for (size_t i = 0; i < 4; i++) {
    assert_int_equal(event[i].number, i < 3 ? i + 1 : 0);
    CHECK_CLOSE(event[i].delivered, delivered[i], 0.0);
    sum += event[i].delivered;
    assert_true(i == 3 || fabs(event[i].end - ends[i]) < 1e-9);
    assert_true(isnan(event[i].mfdd));
    assert_true(isnan(event[i].axle_margin_worst));
  }
  CHECK_CLOSE(sum, (double)total, 0.0);
  CHECK_CLOSE(event[0].start, 0.1, 1e-9);
  bw_events_free(&course.events);
  free_case(made);
}

static void standing_with_the_brake_held_opens_no_event(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  struct course course = course_start(&judge, 10.0);
  brake_to(&course, 2.0, 0.0, 500);
  const struct sample_torques torques = {.demand = 2.0 * PER_MASS};
  for (int i = 0; i < 100; i++) {
    struct bw_sample sample = sample_held(&judge, course.time, 0.0, 0.01, &torques);
    sample.is_parked = true;
    sample.substeps = 0;
    struct bw_period period;
    bw_period_read(&judge, &sample, &period);
    assert_false(period.is_braking);
    const struct bw_event slice = bw_event_empty();
    assert_int_equal(bw_events_watch(&course.events, &sample, &slice, NULL), BW_OK);
    course.time += 0.01;
  }
  assert_int_equal(bw_events_current(&course.events), 0);
  struct bw_summary summary;
  const struct bw_event *event = finish(&course, &summary);
  CHECK_CLOSE(summary.value[BW_SUMMARY_BRAKING_EVENTS], 1.0, 0.0);
  CHECK_CLOSE(event->end, 5.0, 1e-9);
  CHECK_CLOSE(event->deceleration_mean, 2.0, 1e-9);
  bw_events_free(&course.events);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_car_that_stands_does_not_brake),
      cmocka_unit_test(constant_deceleration_is_its_own_mfdd),
      cmocka_unit_test(a_dip_in_the_middle_lowers_the_mfdd),
      cmocka_unit_test(gaps_are_merged_and_hysteresis_holds),
      cmocka_unit_test(standing_with_the_brake_held_opens_no_event),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
