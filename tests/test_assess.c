/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "assess/requirements.h"
#include "batch/assess_stops.h"
#include "check.h"
#include "make_case.h"

#include <string.h>

/** Limits of published rules, and the stops that are held against them, against closed forms. */

static const double KMH = 1.0 / 3.6;

static void limits_are_the_published_ones(void **state) {
  (void)state;
  const double hundred = 100.0 * KMH;
  /* UN R13-H Annex 3 2.1.1(A): 0.1 v + 0.0060 v^2, 6.43 m/s2, quoted; 70 m is also what is quoted
   * of 49 CFR 571.135 S7.5 */
  const struct bw_requirement *row = bw_requirement_at(BW_REQUIREMENT_COLD_DISTANCE);
  CHECK_CLOSE(bw_requirement_limit(row, hundred), 70.0, 1e-9);
  assert_string_equal(bw_certainty_text(row->certainty), "quoted");
  row = bw_requirement_at(BW_REQUIREMENT_COLD_DECELERATION);
  CHECK_CLOSE(bw_requirement_limit(row, hundred), 6.43, 0.0);
  /* 2.1.1(B): 0.1 v + 0.0067 v^2, 5.76 m/s2, from memory; 77 m at 100 km/h derived */
  row = bw_requirement_at(BW_REQUIREMENT_FAST_DISTANCE);
  CHECK_CLOSE(bw_requirement_limit(row, hundred), 77.0, 1e-9);
  assert_string_equal(bw_certainty_text(row->certainty), "from memory");
  /* 2.2: 0.1 v + 0.0158 v^2, quoted; 168 m is quoted of 49 CFR 571.135 S7.11; 2.44 m/s2 from
   * memory */
  row = bw_requirement_at(BW_REQUIREMENT_RESIDUAL_DISTANCE);
  CHECK_CLOSE(bw_requirement_limit(row, hundred), 168.0, 1e-9);
  row = bw_requirement_at(BW_REQUIREMENT_RESIDUAL_DECELERATION);
  CHECK_CLOSE(bw_requirement_limit(row, hundred), 2.44, 0.0);
}

static void distance_and_deceleration_belong_together(void **state) {
  (void)state;
  /* derived: c = 1/(25.92 d_m), as printed to four places */
  for (int i = 0; i < BW_REQUIREMENT_COUNT; i += 2) {
    const struct bw_requirement *way = bw_requirement_at((enum bw_requirement_id)i);
    const struct bw_requirement *rate = bw_requirement_at((enum bw_requirement_id)(i + 1));
    assert_int_equal(way->figure, BW_FIGURE_DISTANCE);
    assert_int_equal(rate->figure, BW_FIGURE_DECELERATION);
    CHECK_CLOSE(1.0 / (25.92 * rate->limit), way->limit, 5e-5);
  }
}

static void margins_have_their_sign(void **state) {
  (void)state;
  const struct bw_requirement *way = bw_requirement_at(BW_REQUIREMENT_COLD_DISTANCE);
  const struct bw_requirement *rate = bw_requirement_at(BW_REQUIREMENT_COLD_DECELERATION);
  CHECK_CLOSE(bw_requirement_margin(way, 70.0, 67.3), 2.7, 1e-12);
  CHECK_CLOSE(bw_requirement_margin(rate, 6.43, 6.13), -0.3, 1e-12);
  assert_true(isnan(bw_requirement_margin(rate, 6.43, (double)NAN)));
}

static void fast_stop_is_asked_of_fast_cars(void **state) {
  (void)state;
  /* 80 % of the top speed, at most 160 km/h, above 125 km/h only: UN R13-H Annex 3 2.1.1(B) and
   * 49 CFR 571.135 S7.6, from memory */
  CHECK_CLOSE(bw_requirement_fast_speed(146.0 * KMH), 116.8 * KMH, 1e-9);
  CHECK_CLOSE(bw_requirement_fast_speed(237.0 * KMH), 160.0 * KMH, 1e-9);
  CHECK_CLOSE(bw_requirement_fast_speed(124.9 * KMH), 0.0, 0.0);
  CHECK_CLOSE(bw_requirement_fast_speed(0.0), 0.0, 0.0);
}

static void top_speed_is_where_power_meets_road_load(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  CHECK_CLOSE(bw_assess_top_speed(made), 0.0, 0.0);
  make_machine(made, BW_FRONT, 1e4, 50e3);
  made->machine[BW_FRONT].omega_max = 1e4;
  /* derived: P = f0 v + f2 v^3 */
  const double top = bw_assess_top_speed(made);
  const double next = top + 0.5 * KMH;
  const struct bw_vehicle *car = &made->vehicle;
  assert_true((car->road_f0 + car->road_f2 * top * top) * top <= 50e3);
  assert_true((car->road_f0 + car->road_f2 * next * next) * next > 50e3);
  made->machine[BW_FRONT].omega_max = 100.0 * KMH / 0.32;
  CHECK_CLOSE(bw_assess_top_speed(made), 100.0 * KMH, 0.5 * KMH);
  free_case(made);
}

/* RV-1 without road load and brake delay, rigid brakes 2:1, grip 1.0, fine steps */
static void assess(const struct bw_blend_strategy *strategy, struct bw_assessment *found) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_steps(made, 0.001, 1);
  const double zero = 0.0;
  make_trace(made, BW_TRACE_SPEED, (const double[]){0.0, 1.0}, (const double[]){zero, zero}, 2);
  const struct bw_assess_job job = {.loaded = made, .strategy = strategy};
  assert_int_equal(bw_assess_stops(&job, found, NULL), BW_OK);
  free_case(made);
}

static const struct bw_assess_row *row_of(const struct bw_assessment *found,
                                          enum bw_requirement_id id, enum bw_stop_failure failure) {
  for (size_t i = 0; i < found->count; i++) {
    const struct bw_assess_row *row = &found->rows[i];
    if (row->requirement == bw_requirement_at(id) && row->failure == failure) {
      return row;
    }
  }
  fail_msg("no row of requirement %d, failure %d", (int)id, (int)failure);
  return found->rows;
}

static void hardest_stop_is_the_one_that_grip_allows(void **state) {
  (void)state;
  struct bw_assessment found = {0};
  assess(&TEST_FRICTION, &found);
  /* closed form, derived: axle i with share s of deceleration A reaches its grip at
   * front: A (s L - mu h) = mu g b;  rear: A (s L + mu h) = mu g a;  L 2.7, a 1.2, b 1.5, h 0.54 */
  static const struct {
    enum bw_stop_failure failure;
    double deceleration;
    double resolution; /* m/s2 of deceleration per step of demand, 20/1024 times what acts */
  } wanted[] = {
      {BW_STOP_SOUND, 9.81 * 1.2 / (0.9 + 0.54), 20.0 / 1024.0},
      {BW_STOP_REGENERATION, 9.81 * 1.2 / (0.9 + 0.54), 20.0 / 1024.0},
      {BW_STOP_CIRCUIT_FRONT, 9.81 * 1.2 / (2.7 + 0.54), 20.0 / 1024.0 / 3.0},
      {BW_STOP_CIRCUIT_REAR, 9.81 * 1.5 / (2.7 - 0.54), 20.0 / 1024.0 * 2.0 / 3.0},
      /* one wheel of each axle with half of its load: mu 0.5; the front is first */
      {BW_STOP_CIRCUIT_DIAGONAL, 0.5 * 9.81 * 1.5 / (1.8 - 0.27), 20.0 / 1024.0 / 2.0},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
    const bool is_sound = wanted[i].failure == BW_STOP_SOUND;
    const struct bw_assess_row *rate = row_of(
        &found, is_sound ? BW_REQUIREMENT_COLD_DECELERATION : BW_REQUIREMENT_RESIDUAL_DECELERATION,
        wanted[i].failure);
    CHECK_WITHIN(rate->result, wanted[i].deceleration - wanted[i].resolution * 1.01,
                 wanted[i].deceleration + 1e-6);
    CHECK_CLOSE(rate->margin, rate->result - rate->limit, 1e-12);
    const struct bw_assess_row *way = rate - 1;
    /* derived: linear rise over t, then constant: s = v t - A t^2/6 + (v - A t/2)^2/(2 A) */
    const double a = rate->result;
    const double v = 100.0 * KMH;
    const double t = BW_STOP_BUILD;
    const double after = v - 0.5 * a * t;
    CHECK_CLOSE(way->result, v * t - a * t * t / 6.0 + after * after / (2.0 * a), 0.02);
  }
  bw_assessment_free(&found);
}

/* m/s2 of demand beyond which the strategy below has no answer */
#define BRITTLE 9.5

static void step_brittle(void *state, const struct bw_blend_info *info, const double *params,
                         const struct bw_blend_input *input, struct bw_blend_request *request) {
  TEST_FRICTION.step(state, info, params, input, request);
  if (input->demand_pedal > BRITTLE * info->mass * info->tyre_radius) {
    request->friction[BW_FRONT] = (double)NAN;
  }
}

static void run_that_fails_is_no_stop(void **state) {
  (void)state;
  struct bw_blend_strategy brittle = TEST_FRICTION;
  brittle.name = "brittle";
  brittle.step = step_brittle;
  struct bw_assessment found = {0};
  assess(&brittle, &found);
  /* without the front circuit a third of the demand acts, and grip would allow 10.9 of it */
  const struct bw_assess_row *rate =
      row_of(&found, BW_REQUIREMENT_RESIDUAL_DECELERATION, BW_STOP_CIRCUIT_FRONT);
  CHECK_WITHIN(rate->result, (BRITTLE - 20.0 / 1024.0) / 3.0, BRITTLE / 3.0 + 1e-6);
  assert_non_null(strstr(rate->note, "failed: strategy 'brittle' returned a torque"));
  /* the sound car meets its grip before */
  rate = row_of(&found, BW_REQUIREMENT_COLD_DECELERATION, BW_STOP_SOUND);
  assert_non_null(strstr(rate->note, "ended by the grip"));
  bw_assessment_free(&found);
}

static void what_cannot_be_known_is_not_assessed(void **state) {
  (void)state;
  struct bw_assessment found = {0};
  assess(&TEST_FRICTION, &found);
  const struct bw_assess_row *booster =
      row_of(&found, BW_REQUIREMENT_BOOSTER_DISTANCE, BW_STOP_BOOSTER);
  assert_true(isnan(booster->result) && isnan(booster->margin));
  assert_non_null(strstr(booster->note, "no data"));
  /* no machine, so no estimate of the top speed */
  const struct bw_assess_row *fast = row_of(&found, BW_REQUIREMENT_FAST_DISTANCE, BW_STOP_SOUND);
  assert_true(isnan(fast->limit) && isnan(fast->result) && isnan(fast->margin));
  assert_true(fast->note[0] != '\0');
  assert_int_equal(bw_assessment_missed(&found), 0);
  bw_assessment_free(&found);
  /* machines that are not there cannot stop a car: no silent pass */
  assess(&TEST_MACHINE, &found);
  for (size_t i = 0; i < found.count; i++) {
    assert_true(isnan(found.rows[i].margin));
    assert_true(found.rows[i].note[0] != '\0');
  }
  bw_assessment_free(&found);
}

struct countdown {
  int left;
};

static bool count_down(void *context) {
  struct countdown *countdown = context;
  return countdown->left-- > 0;
}

static void lack_of_memory_is_told(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_trace(made, BW_TRACE_SPEED, (const double[]){0.0, 1.0}, (const double[]){0.0, 0.0}, 2);
  const struct bw_assess_job job = {.loaded = made, .strategy = &TEST_FRICTION};
  for (int n = 0; n < 12; n++) {
    struct countdown countdown = {n};
    struct bw_assessment found = {0};
    bw_alloc_set_hook(count_down, &countdown);
    const enum bw_status status = bw_assess_stops(&job, &found, NULL);
    bw_alloc_set_hook(NULL, NULL);
    assert_int_equal(status, BW_E_MEMORY);
    bw_assessment_free(&found);
  }
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(limits_are_the_published_ones),
      cmocka_unit_test(distance_and_deceleration_belong_together),
      cmocka_unit_test(margins_have_their_sign),
      cmocka_unit_test(fast_stop_is_asked_of_fast_cars),
      cmocka_unit_test(top_speed_is_where_power_meets_road_load),
      cmocka_unit_test(hardest_stop_is_the_one_that_grip_allows),
      cmocka_unit_test(run_that_fails_is_no_stop),
      cmocka_unit_test(what_cannot_be_known_is_not_assessed),
      cmocka_unit_test(lack_of_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
