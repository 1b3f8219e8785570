/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_slip.h"
#include "whole_case.h"

#include "strategies/registry.h"

#include <stdio.h>

/** The last metre, and who holds the car after it. */

enum { PERIODS = 2000 };

struct history {
  size_t n;
  struct bw_sample sample[PERIODS];
};

static enum bw_status keep(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct history *history = context;
  assert_true(history->n < PERIODS);
  history->sample[history->n++] = *sample;
  return BW_OK;
}

static void run(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                const double *params, struct history *history) {
  history->n = 0;
  const struct bw_observer observer = {.context = history, .watch = keep};
  struct bw_diag diag = {0};
  if (bw_run(made, strategy, params, &observer, 1, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
}

static struct history *make_history(void) {
  struct history *history = test_malloc(sizeof *history);
  assert_non_null(history);
  return history;
}

static double way_of(const struct history *history) {
  double way = 0.0;
  for (size_t k = 0; k < history->n; k++) {
    way += history->sample[k].distance;
  }
  return way;
}

static void a_soft_stop_keeps_its_closed_form(void **state) {
  (void)state;
  struct history *history = make_history();
  /* brakes without delay, no road load: dv/dt = -a (e + (1 - e) v/v_s) below v_s; derived */
  const double a = 2.3;
  const double v_s = 1.9;
  const double e = 0.35;
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_steps(made, 0.001, 1);
  make_stop(made, 3.0, a, 10.0);
  run(made, &TEST_FRICTION, NULL, history);
  CHECK_RELATIVE(way_of(history), 3.0 * 3.0 / (2.0 * a), 1e-9);
  made->driver.soft_stop_speed = v_s;
  made->driver.soft_stop_share = e;
  run(made, &TEST_FRICTION, NULL, history);
  const double eased = v_s * v_s / a * (1.0 / (1.0 - e) - e / ((1.0 - e) * (1.0 - e)) * -log(e));
  /* the demand is held for 1 ms: half of it late */
  CHECK_RELATIVE(way_of(history), (3.0 * 3.0 - v_s * v_s) / (2.0 * a) + eased, 5e-4);
  /* the period before that of rest: what jolts */
  size_t rest = 0;
  while (history->sample[rest].speed_end > 0.0) {
    rest++;
  }
  CHECK_RELATIVE(history->sample[rest - 1].deceleration, e * a, 0.01);
  free_case(made);
  test_free(history);
}

static void a_soft_stop_halves_the_jolt(void **state) {
  (void)state;
  /* FRI-9, read in a manufacturer's training text: easing the brakes just before standstill in
   * gentle stops took about half of the deceleration peak at rest */
  const struct bw_override soft[] = {{"driver.soft_stop_kmh=4"}, {"driver.soft_stop_percent=35"}};
  const char *path = "cases/manoeuvres/gentle-stop.cfg";
  const struct bw_summary hard = summary_of_file(path, NULL, 0, "series");
  const struct bw_summary eased = summary_of_file(path, soft, 2, "series");
  const double ratio = eased.value[BW_SUMMARY_JOLT_AT_REST] / hard.value[BW_SUMMARY_JOLT_AT_REST];
  const double longer =
      eased.value[BW_SUMMARY_STOPPING_DISTANCE] - hard.value[BW_SUMMARY_STOPPING_DISTANCE];
  print_message("jolt %.2f times as large, %.2f m longer\n", ratio, longer);
  CHECK_WITHIN(ratio, 0.3, 0.6);
  CHECK_WITHIN(longer, 0.05, 0.6);
}

static void a_soft_stop_lets_no_car_roll_on_a_grade(void **state) {
  (void)state;
  struct history *history = make_history();
  for (int slip = 0; slip < 2; slip++) {
    for (int k = 0; k < 4; k++) {
      struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
      made->fidelity = slip == 1 ? BW_FIDELITY_SLIP : BW_FIDELITY_ROLLING;
      made->vehicle.slip_stiffness = made->slip.tyre.stiffness;
      made->driver.goes_on_at_rest = slip == 1;
      made->driver.soft_stop_speed = 1.5;
      made->driver.soft_stop_share = 0.1;
      make_friction_delay(made, 0.03, 0.07);
      make_stop(made, 4.0, 2.5, 15.0);
      const double grade[4] = {0.0, 0.12, -0.12, -0.2};
      make_grade(made, grade[k]);
      run(made, &TEST_FRICTION, NULL, history);
      const struct bw_sample *last = &history->sample[history->n - 1];
      CHECK_CLOSE(last->speed_end, 0.0, 0.0);
      for (size_t i = 0; i < history->n; i++) {
        assert_true(history->sample[i].distance >= 0.0);
      }
      free_case(made);
    }
  }
  test_free(history);
}

static void machine_then_friction_then_park_brake_hold(void **state) {
  (void)state;
  struct history *history = make_history();
  struct bw_case *loaded = load_case("cases/manoeuvres/hill-hold.cfg", NULL, 0);
  const struct bw_blend_strategy *series = bw_strategy_find("series");
  double params[16];
  assert_true(series->param_count <= 16);
  bw_case_strategy_params(loaded, series, params);
  run(loaded, series, params, history);
  /* the machine brakes first; none at rest: friction took over on the way */
  const double machine_share[2] = {0.8, 0.05};
  double machine[2] = {0.0, 0.0};
  double whole[2] = {0.0, 0.0};
  size_t rest = history->n;
  size_t let_go = history->n;
  for (size_t k = 0; k < history->n; k++) {
    const struct bw_sample *sample = &history->sample[k];
    const double rubbing = sample->axle[0].friction_torque + sample->axle[1].friction_torque;
    const int part = sample->speed_start > 16.0 / 3.6 ? 0 : 1;
    if (part == 0 || (sample->speed_start > 0.0 && sample->speed_start < 2.0 / 3.6)) {
      machine[part] += sample->axle[BW_FRONT].machine_torque;
      whole[part] += sample->axle[BW_FRONT].machine_torque + rubbing;
    }
    if (rest == history->n && !(sample->speed_end > 0.0)) {
      rest = k;
    }
    if (let_go == history->n && k > rest && !(sample->demand > 0.0)) {
      let_go = k;
    }
  }
  assert_true(rest + 150 < let_go && let_go + 100 < history->n);
  CHECK_WITHIN(machine[0] / whole[0], machine_share[0], 1.0);
  CHECK_WITHIN(machine[1] / whole[1], 0.0, machine_share[1]);
  /* friction alone holds until the park brake is set after rest, and longer than it takes */
  const double need = history->sample[rest + 1].sin_slope *
                      loaded->vehicle.load[loaded->vehicle.load_state].mass * BW_GRAVITY *
                      loaded->vehicle.tyre_radius;
  const struct bw_sample *held = &history->sample[rest + 50];
  assert_true(held->axle[0].friction_torque + held->axle[1].friction_torque > need);
  CHECK_CLOSE(held->axle[BW_FRONT].machine_torque, 0.0, 0.0);
  /* pedal let go: the pads are open, the park brake has it, nothing moves at any time */
  const struct bw_sample *last = &history->sample[history->n - 1];
  const struct bw_friction *front = &loaded->brakes.axle[BW_FRONT];
  assert_true(last->axle[BW_FRONT].pressure <= front->threshold);
  assert_true(loaded->slip.park_torque > need);
  for (size_t k = rest + 1; k < history->n; k++) {
    CHECK_CLOSE(history->sample[k].speed_end, 0.0, 0.0);
    CHECK_CLOSE(history->sample[k].hold_shortfall, 0.0, 0.0);
  }
  bw_case_destroy(loaded);
  test_free(history);
}

/* a stop at 1 m/s2 from 1.5 m/s, constant brakes */
static void creep_to_rest(enum bw_tyre_surface surface, double step, double relaxation,
                          struct history *history) {
  struct bw_case *made = make_slip_case(surface);
  made->slip.step = step;
  made->slip.tyre.relaxation = relaxation;
  make_stop(made, 1.5, 1.0, 5.0);
  run(made, &TEST_FRICTION, NULL, history);
  free_case(made);
  /* it ends: no creeping towards rest */
  const struct bw_sample *last = &history->sample[history->n - 1];
  CHECK_CLOSE(last->speed_end, 0.0, 0.0);
  CHECK_CLOSE(last->time + last->duration, 1.5, 0.06);
}

/* greatest change of the deceleration from sub-step to sub-step, and greatest distance from
 * 1 m/s2, between two times; the last 5 mm/s are left out, where a step is a good part of the way
 */
static void look(const struct history *history, double from, double to, double *swing,
                 double *apart) {
  double before = (double)NAN;
  *swing = *apart = 0.0;
  for (size_t i = 0; i < history->n; i++) {
    const struct bw_sample *sample = &history->sample[i];
    if (sample->time < from || sample->time >= to || !(sample->speed_end > 0.005)) {
      continue;
    }
    for (size_t j = 0; j < sample->substeps; j++) {
      const double now = sample->body_deceleration[j];
      *swing = isnan(before) ? *swing : fmax(*swing, fabs(now - before));
      *apart = fmax(*apart, fabs(now - 1.0));
      before = now;
    }
  }
  assert_true(before > 0.0);
}

static void nothing_chatters_near_rest(void **state) {
  (void)state;
  struct history *history = make_history();
  for (int k = 0; k < 4; k++) {
    const enum bw_tyre_surface surface = k < 2 ? BW_TYRE_ASPHALT_DRY : BW_TYRE_SNOW;
    const double step = k % 2 == 0 ? 1e-3 : 1e-4;
    double swing = 0.0;
    double apart = 0.0;
    creep_to_rest(surface, step, 0.0, history);
    look(history, 0.2, 2.0, &swing, &apart);
    CHECK_WITHIN(swing, 0.0, 1e-3);
    for (size_t i = 20; i + 2 < history->n; i++) {
      assert_true(history->sample[i].axle[BW_FRONT].slip > 0.0);
      assert_true(history->sample[i].axle[BW_REAR].slip > 0.0);
    }
    /* a relaxing tyre is a spring: the wheel rings on it at some 60 Hz (sqrt of slope N r2 over
     * relaxation and inertia) once the brakes have come, less and less, down to rest */
    double late = 0.0;
    creep_to_rest(surface, step, 0.15, history);
    look(history, 0.2, 0.5, &swing, &apart);
    look(history, 1.2, 2.0, &swing, &late);
    CHECK_WITHIN(late, 0.0, 0.5 * apart);
  }
  test_free(history);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_soft_stop_keeps_its_closed_form),
      cmocka_unit_test(a_soft_stop_halves_the_jolt),
      cmocka_unit_test(a_soft_stop_lets_no_car_roll_on_a_grade),
      cmocka_unit_test(machine_then_friction_then_park_brake_hold),
      cmocka_unit_test(nothing_chatters_near_rest),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
