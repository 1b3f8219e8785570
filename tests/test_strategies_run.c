/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"
#include "whole_case.h"

#include "strategies/registry.h"

#include <string.h>

/** Strategies at work in whole runs: hand-overs against the closed forms of a friction path with
 *  dead time theta and lag tau (HO-n, derived), fade bands, steady states, and the published cycle
 *  of the front-drive example. */

enum { PARAMS_MAX = 8 };

static const double KMH = 1.0 / 3.6;
static const double DEAD_TIME = 0.05; /* s */
static const double LAG = 0.1;

/* calibration of one strategy */
struct calibration {
  const struct bw_blend_strategy *strategy;
  double params[PARAMS_MAX];
};

static struct calibration calibration_of(const char *name) {
  struct calibration made = {.strategy = bw_strategy_find(name)};
  assert_non_null(made.strategy);
  assert_in_range(made.strategy->param_count, 0, PARAMS_MAX);
  for (size_t i = 0; i < made.strategy->param_count; i++) {
    made.params[i] = made.strategy->params[i].fallback;
  }
  return made;
}

/* false when there is no such parameter */
static bool has_set(struct calibration *made, const char *name, double value) {
  for (size_t i = 0; i < made->strategy->param_count; i++) {
    if (strcmp(made->strategy->params[i].name, name) == 0) {
      made->params[i] = value;
      return true;
    }
  }
  return false;
}

static void set_param(struct calibration *made, const char *name, double value) {
  assert_true(has_set(made, name, value));
}

/* RV-1 without road load and with slow friction, a strong machine in front */
static struct bw_case *slow_friction(double speed, double deceleration) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_machine(made, 0, 3000.0, 1e9);
  make_friction_delay(made, DEAD_TIME, LAG);
  make_stop(made, speed, deceleration, 60.0);
  return made;
}

/* a stop watched from `from` s on; the gap is of torque */
static struct test_record stop(struct bw_case *made, const struct calibration *calibration,
                               double from) {
  struct test_record record = {.gap_from = from};
  record_run(made, calibration->strategy, calibration->params, &record);
  struct test_record sums = record;
  free_record(&record);
  sums.rows = NULL;
  return sums;
}

/* HO-1: a plain fade leaves the area Delta (tau + theta); the strategies below are held to it */
static void plain_fade_has_the_area_of_the_delay(void **state) {
  (void)state;
  struct bw_case *made = slow_friction(60.0 * KMH, 2.0);
  const struct calibration series = calibration_of("series");
  const struct test_record record = stop(made, &series, 2.0);
  CHECK_RELATIVE(record.gap_area, 2.0 * 1500.0 * 0.32 * (DEAD_TIME + LAG), 2e-3);
  free_case(made);
}

/* HO-5: friction asked for theta ahead and through (tau s + 1) leaves no deficit, whether or not
 * the machine also corrects */
static void perfect_lead_leaves_no_deficit(void **state) {
  (void)state;
  for (int correction = 0; correction <= 100; correction += 50) {
    struct bw_case *made = slow_friction(60.0 * KMH, 2.0);
    struct calibration led = calibration_of("lag-compensated");
    set_param(&led, "correction_percent", correction);
    const struct test_record record = stop(made, &led, 2.0);
    const double demand = 2.0 * 1500.0 * 0.32;
    CHECK_CLOSE(record.gap_area, 0.0, 0.005 * demand * (DEAD_TIME + LAG));
    /* what is left is the staircase of a held command: half a period at the exchange's rate */
    const double rate = demand * 2.0 / (4.0 * KMH);
    CHECK_WITHIN(record.gap_peak, 0.0, 1.5 * rate * 0.01);
    free_case(made);
  }
}

/* HO-5: the same without any lead, the machine giving what friction is measured to lack, as long
 * as it has authority; without authority the deficit is back */
static void machine_alone_can_mend(void **state) {
  (void)state;
  const double whole = 2.0 * 1500.0 * 0.32 * (DEAD_TIME + LAG);
  for (int is_able = 0; is_able < 2; is_able++) {
    struct bw_case *made = slow_friction(60.0 * KMH, 2.0);
    made->machine[0].low_speed_zero = is_able ? -2.0 : 5.0 * KMH; /* authority to rest, or not */
    made->machine[0].low_speed_full = is_able ? -1.0 : 5.0 * KMH + 1e-3;
    struct calibration led = calibration_of("lag-compensated");
    set_param(&led, "dead_time_ms", 0.0);
    set_param(&led, "lag_ms", 0.0);
    const struct test_record record = stop(made, &led, 2.0);
    if (is_able) {
      CHECK_CLOSE(record.gap_area, 0.0, 0.08 * whole); /* a period late */
    } else {
      CHECK_WITHIN(record.gap_area, 0.2 * whole, whole);
    }
    free_case(made);
  }
}

/* HO-6: with a wrong belief the area is Delta (tau + theta - tau_b - theta_b), linear in the error
 * and of either sign */
static void wrong_belief_leaves_the_difference(void **state) {
  (void)state;
  static const double belief_ms[][2] = {{0.0, 0.0},   {50.0, 0.0},   {0.0, 100.0},
                                        {30.0, 60.0}, {80.0, 100.0}, {50.0, 160.0}};
  for (size_t i = 0; i < sizeof belief_ms / sizeof *belief_ms; i++) {
    struct bw_case *made = slow_friction(60.0 * KMH, 2.0);
    struct calibration led = calibration_of("lag-compensated");
    set_param(&led, "correction_percent", 0.0);
    set_param(&led, "dead_time_ms", belief_ms[i][0]);
    set_param(&led, "lag_ms", belief_ms[i][1]);
    const struct test_record record = stop(made, &led, 2.0);
    const double demand = 2.0 * 1500.0 * 0.32;
    const double error = DEAD_TIME + LAG - (belief_ms[i][0] + belief_ms[i][1]) * 1e-3;
    CHECK_CLOSE(record.gap_area, demand * error, 0.02 * demand * (DEAD_TIME + LAG));
    free_case(made);
  }
}

/* the machine's own dead time and lag are led as well */
static void slow_machine_is_led_too(void **state) {
  (void)state;
  struct bw_case *made = slow_friction(60.0 * KMH, 2.0);
  made->machine[0].dead_time = 0.02;
  made->machine[0].lag = 0.03;
  struct calibration led = calibration_of("lag-compensated");
  set_param(&led, "correction_percent", 0.0);
  const struct test_record record = stop(made, &led, 2.0);
  CHECK_CLOSE(record.gap_area, 0.0, 0.02 * 2.0 * 1500.0 * 0.32 * (DEAD_TIME + LAG));
  free_case(made);
}

/* HO-4: with the band a^2 (tau + theta) / a_felt the dip stays under the felt line, and is not much
 * smaller than it must be */
static void speed_band_stays_under_the_felt_line(void **state) {
  (void)state;
  for (int i = 1; i <= 3; i++) {
    struct bw_case *made = slow_friction(100.0 * KMH, i);
    struct calibration band = calibration_of("speed-band");
    set_param(&band, "felt_percent", 100.0);
    set_param(&band, "band_min_kmh", 0.1);
    const double felt = made->assess.felt_deceleration;
    const struct test_record record = stop(made, &band, 1.0);
    const double dip = record.gap_peak / (1500.0 * 0.32);
    /* a command held over 10 ms adds half a period of the exchange to the delay of 150 ms */
    CHECK_WITHIN(dip, 0.85 * felt, felt * (1.0 + 0.5 * 0.01 / (DEAD_TIME + LAG)));
    band = calibration_of("speed-band");
    const struct test_record calm = stop(made, &band, 1.0); /* as shipped: with room to spare */
    CHECK_WITHIN(calm.gap_peak / (1500.0 * 0.32), 0.3 * felt, felt);
    /* the rule's strategies widen their fade by the same law; without it the dip is that of the
     * fade given, which a firm stop passes too fast */
    static const char *const others[] = {"rule-boundary", "least-loss"};
    for (size_t k = 0; k < sizeof others / sizeof *others; k++) {
      struct calibration other = calibration_of(others[k]);
      const struct test_record widened = stop(made, &other, 1.0);
      CHECK_WITHIN(widened.gap_peak / (1500.0 * 0.32), 0.3 * felt, felt);
      set_param(&other, "felt_percent", 0.0);
      const struct test_record given = stop(made, &other, 1.0);
      CHECK_WITHIN(given.gap_peak / (1500.0 * 0.32), i == 1 ? 0.3 * felt : 1.5 * felt, 1e3);
    }
    free_case(made);
  }
}

/* property: a wider fade band never deepens the dip of a steady stop */
static void wider_band_never_deepens_the_dip(void **state) {
  (void)state;
  static const double width_kmh[] = {1.0, 2.0, 4.0, 8.0, 16.0, 30.0};
  size_t tried = 0;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct calibration made = calibration_of(bw_strategy_at(s)->name);
    const double end_kmh = 5.0;
    const bool is_scaled = has_set(&made, "band_scale_percent", 100.0);
    const bool has_start = has_set(&made, "fade_start_kmh", 9.0);
    if (!has_set(&made, "fade_end_kmh", end_kmh) || (!is_scaled && !has_start)) {
      continue;
    }
    if (has_start) {
      (void)has_set(&made, "felt_percent", 0.0); /* the fade as given */
    }
    tried++;
    for (int a = 1; a <= 3; a++) {
      double last = (double)INFINITY;
      for (size_t i = 0; i < sizeof width_kmh / sizeof *width_kmh; i++) {
        (void)has_set(&made, "band_scale_percent", 30.0 * width_kmh[i]);
        (void)has_set(&made, "fade_start_kmh", end_kmh + width_kmh[i]);
        struct bw_case *car = slow_friction(100.0 * KMH, a);
        const struct test_record record = stop(car, &made, 1.0);
        CHECK_WITHIN(record.gap_peak, 0.0, last + 0.5); /* N m, of 480 and more */
        last = record.gap_peak;
        free_case(car);
      }
    }
  }
  assert_int_equal(tried, 9);
}

/* HO-8: in a steady stop delivered equals demanded at nominal pads; pads off by e leave the step
 * e Delta, Delta the torque that friction carries */
static void steady_state_is_the_demand(void **state) {
  (void)state;
  static const double scale[] = {1.0, 0.92, 1.1};
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    for (size_t k = 0; k < 3; k++) {
      struct bw_case *made = slow_friction(100.0 * KMH, 2.0);
      made->machine[0].shaft_torque_peak = 400.0; /* so that friction has to fill 560 N m */
      made->machine[0].shaft_torque_continuous = 400.0;
      made->brakes.axle[0].pad_scale = made->brakes.axle[1].pad_scale = scale[k];
      const struct calibration calm = calibration_of(bw_strategy_at(s)->name);
      struct test_record record = {0};
      record_run(made, calm.strategy, calm.params, &record);
      const struct test_row *row = &record.rows[500]; /* after 5 s, at 64 km/h */
      const double nominal = row->friction / scale[k];
      CHECK_RELATIVE(row->demand, 2.0 * 1500.0 * 0.32, 1e-12);
      CHECK_RELATIVE(row->machine + nominal, row->demand, 1e-6);
      CHECK_CLOSE(row->demand - row->machine - row->friction, (1.0 - scale[k]) * nominal, 1e-3);
      assert_true(nominal > 500.0);
      free_record(&record);
      free_case(made);
    }
  }
}

/* coupled and decoupled pedal in a run: requests are possible ones, nothing is clipped, and the
 * stop is as hard as asked; the floor of the coupled one costs recovery (nominal ratio 1) */
static void both_plumbings_work(void **state) {
  (void)state;
  for (size_t s = 1; s < bw_strategy_count(); s++) {
    double recovered[2];
    for (int decoupled = 0; decoupled < 2; decoupled++) {
      struct bw_case *made = slow_friction(60.0 * KMH, 1.2);
      made->brakes.layout = decoupled ? BW_LAYOUT_COMMON : BW_LAYOUT_PEDAL_COUPLED;
      const struct calibration calm = calibration_of(bw_strategy_at(s)->name);
      struct test_record record = {0};
      record_run(made, calm.strategy, calm.params, &record);
      const struct test_row *row = &record.rows[400];
      CHECK_RELATIVE(row->machine + row->friction, row->demand, 1e-6);
      if (!decoupled) {
        CHECK_WITHIN(row->friction, 0.5 * row->demand * (1.0 - 1e-6), row->demand);
      }
      recovered[decoupled] = record.machine_work;
      free_record(&record);
      free_case(made);
    }
    CHECK_WITHIN(recovered[0], 1.0, recovered[1] * (1.0 + 1e-9));
  }
}

/* the front-drive example on the UDDS: strategies that look after the feel reach 95 % of the
 * lag-free bound within the balance rule and under the felt line */
static void example_reaches_its_bound(void **state) {
  (void)state;
  static const char *const names[] = {"lag-compensated", "speed-band", "predictive",
                                      "rule-boundary", "least-loss"};
  struct bw_case *loaded = load_case("cases/hatchback-udds.cfg", NULL, 0);
  for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
    struct bw_evaluation evaluation = evaluate_case(loaded, bw_strategy_find(names[i]));
    const double *value = evaluation.summary.value;
    CHECK_WITHIN(value[BW_SUMMARY_OF_RECOVERABLE_PLANT], 0.95, 1.0);
    CHECK_WITHIN(value[BW_SUMMARY_DIP_PEAK], 0.0, loaded->assess.felt_deceleration);
    CHECK_CLOSE(value[BW_SUMMARY_AXLE_VIOLATIONS], 0.0, 0.0);
    CHECK_CLOSE(value[BW_SUMMARY_CLIPPINGS], 0.0, 0.0);
    bw_evaluation_free(&evaluation);
  }
  bw_case_destroy(loaded);
}

/* The rule's strategies keep the rule on every example, also with a rear machine and from 100 km/h,
 * and little more than the felt line is felt: where braking gets firmer in the middle of a stop
 * the rule takes torque from a machine faster than its friction comes. */
static void examples_keep_the_rule(void **state) {
  (void)state;
  static const char *const names[] = {"rule-boundary", "least-loss", "predictive"};
  static const char *const cases[] = {"cases/hatchback-wltc.cfg", "cases/van-nycc.cfg",
                                      "cases/crossover-us06.cfg", "cases/stop-100.cfg"};
  for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
    struct bw_case *loaded = load_case(cases[c], NULL, 0);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
      struct bw_evaluation evaluation = evaluate_case(loaded, bw_strategy_find(names[i]));
      CHECK_CLOSE(evaluation.summary.value[BW_SUMMARY_AXLE_VIOLATIONS], 0.0, 0.0);
      CHECK_WITHIN(evaluation.summary.value[BW_SUMMARY_DIP_PEAK], 0.0,
                   1.2 * loaded->assess.felt_deceleration);
      bw_evaluation_free(&evaluation);
    }
    bw_case_destroy(loaded);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(plain_fade_has_the_area_of_the_delay),
      cmocka_unit_test(perfect_lead_leaves_no_deficit),
      cmocka_unit_test(machine_alone_can_mend),
      cmocka_unit_test(wrong_belief_leaves_the_difference),
      cmocka_unit_test(slow_machine_is_led_too),
      cmocka_unit_test(speed_band_stays_under_the_felt_line),
      cmocka_unit_test(wider_band_never_deepens_the_dip),
      cmocka_unit_test(steady_state_is_the_demand),
      cmocka_unit_test(both_plumbings_work),
      cmocka_unit_test(example_reaches_its_bound),
      cmocka_unit_test(examples_keep_the_rule),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
