/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hand-overs from made samples: demand constant, the machine's torque falls straight to zero, the
 * friction brake follows the mirrored command with dead time and lag, both in closed form. */
#include "assess/handover.h"
#include "check.h"
#include "samples.h"

#include <string.h>

struct swap {
  double torque;    /**< N m, all of the demand */
  double ramp;      /**< s */
  double dead_time; /**< s */
  double lag;       /**< s */
  double gain;      /**< real over nominal friction torque */
  double speed;     /**< m/s at the start */
  enum bw_limit limit;
};

static const double RAMP_START = 3.0; /* s */

/* integral from 0 to t of the lagged answer to a unit ramp that starts at 0 */
static double ramp_integral(double t, double lag) {
  return t > 0.0 ? 0.5 * t * t - lag * t - lag * lag * expm1(-t / lag) : 0.0;
}

/* integral over time of the friction torque, N m s */
static double friction_integral(const struct swap *swap, double time) {
  const double t = time - RAMP_START - swap->dead_time;
  const double rate = swap->torque / swap->ramp * swap->gain;
  return rate * (ramp_integral(t, swap->lag) - ramp_integral(t - swap->ramp, swap->lag));
}

static double machine_torque(const struct swap *swap, double time) {
  const double part = 1.0 - (time - RAMP_START) / swap->ramp;
  return swap->torque * fmin(1.0, fmax(0.0, part));
}

static struct bw_sample swap_sample(const struct bw_judge *judge, const struct swap *swap,
                                    double time, double speed) {
  const double friction =
      (friction_integral(swap, time + 0.01) - friction_integral(swap, time)) / 0.01;
  const struct sample_torques torques = {.demand = swap->torque,
                                         .machine = {machine_torque(swap, time + 0.005), 0.0},
                                         .friction = {friction, 0.0}};
  struct bw_sample sample = sample_held(judge, time, speed, 0.01, &torques);
  sample.axle[0].limit = swap->limit;
  sample.axle[0].available = sample.axle[0].machine_request;
  sample.axle[0].available_alone = sample.axle[0].machine_request;
  for (size_t k = 0; k < SAMPLE_SUBSTEPS; k++) {
    const double from = time + 0.001 * (double)k;
    sample.delivered[k] =
        machine_torque(swap, from + 0.0005) +
        (friction_integral(swap, from + 0.001) - friction_integral(swap, from)) / 0.001;
  }
  return sample;
}

/* watch 3 s before the ramp, the ramp, and 1.5 s after it */
static void watch_swap(const struct swap *swap, struct bw_gap *gap,
                       struct bw_handover_finder *finder) {
  struct bw_case *made = samples_case();
  make_machine(made, 0, 1e4, 1e9);
  make_friction_delay(made, swap->dead_time, swap->lag);
  const struct bw_judge judge = bw_judge_make(made);
  assert_int_equal(bw_gap_start(gap, &judge, NULL), BW_OK);
  *finder = bw_handover_start(&judge);
  double speed = swap->speed;
  const size_t periods = (size_t)((RAMP_START + swap->ramp + 1.5) / 0.01);
  for (size_t i = 0; i < periods; i++) {
    const struct bw_sample sample = swap_sample(&judge, swap, 0.01 * (double)i, speed);
    struct bw_period period;
    bw_period_read(&judge, &sample, &period);
    bw_gap_watch(gap, &sample, &period);
    assert_int_equal(bw_handover_watch(finder, &sample, &period, &gap->period, 7, NULL), BW_OK);
    speed = sample.speed_end;
  }
  struct bw_summary summary;
  assert_int_equal(bw_handover_finish(finder, &summary, NULL), BW_OK);
  CHECK_CLOSE(summary.value[BW_SUMMARY_HANDOVERS], (double)finder->count, 0.0);
  free_case(made);
}

static const double PER_TORQUE = 1.0 / (0.32 * 1500.0); /* RV-1: 1/(r m) */

/* HO-1, area law, derived: integral of the deficit = Delta (tau + theta) whatever the shape:
 * 1000 N m, 0.10 s, 0.05 s: 150 N m s for 1 s and for 1/3 s; 1500, 0.06, 0.02: 120.
 * HO-2, peak law, derived: R (theta + tau (1 - exp(-(T - theta)/tau))): 149.9925 and 432.355 */
static void area_and_peak_laws_hold(void **state) {
  (void)state;
  const struct swap swaps[] = {
      {1000.0, 1.0, 0.05, 0.10, 1.0, 30.0, BW_LIMIT_NONE},
      {1000.0, 1.0 / 3.0, 0.05, 0.10, 1.0, 30.0, BW_LIMIT_NONE},
      {1500.0, 0.8, 0.02, 0.06, 1.0, 30.0, BW_LIMIT_NONE},
  };
  const double area[] = {150.0, 150.0, 120.0};
  const double peak[] = {149.9925, 432.355, 1500.0 / 0.8 * (0.02 + 0.06)};
  for (size_t i = 0; i < 3; i++) {
    struct bw_gap gap;
    struct bw_handover_finder finder;
    watch_swap(&swaps[i], &gap, &finder);
    assert_int_equal(finder.count, 1);
    const struct bw_handover *found = &finder.list[0];
    assert_int_equal(found->event, 7);
    /* the wait of 0.2 s after settling leaves a little of the exponential tail uncounted */
    CHECK_RELATIVE(found->speed_not_taken_off / PER_TORQUE, area[i], 0.01);
    CHECK_RELATIVE(gap.dip_speed / PER_TORQUE, area[i], 1e-5);
    CHECK_RELATIVE(found->dip_peak / PER_TORQUE, peak[i], 5e-4); /* sub-step means */
    CHECK_CLOSE(found->surge_peak, 0.0, 1e-9);
    bw_handover_free(&finder);
  }
}

/* HO-3, derived: 2 m/s2 fully swapped, tau 0.10, theta 0.03, T 0.5 / 1.0 / 1.5 / 2.0 s: dip 0.5164
 * / 0.2600 / 0.1733 / 0.1300 m/s2, speed not taken off 0.26 m/s always */
static void worked_dips_are_met(void **state) {
  (void)state;
  const double ramp[] = {0.5, 1.0, 1.5, 2.0};
  const double dip[] = {0.5164, 0.2600, 0.1733, 0.1300};
  for (size_t i = 0; i < 4; i++) {
    const struct swap swap = {2.0 / PER_TORQUE, ramp[i], 0.03, 0.10, 1.0, 30.0, BW_LIMIT_LOW_SPEED};
    struct bw_gap gap;
    struct bw_handover_finder finder;
    watch_swap(&swap, &gap, &finder);
    assert_int_equal(finder.count, 1);
    const struct bw_handover *found = &finder.list[0];
    CHECK_CLOSE(found->dip_peak, dip[i], 4e-4);
    CHECK_CLOSE(gap.dip_speed, 0.26, 1e-4);
    CHECK_CLOSE(found->speed_not_taken_off, 0.26, 0.003);
    assert_int_equal(found->cause, BW_LIMIT_LOW_SPEED);
    CHECK_CLOSE(found->start, RAMP_START, 0.02 * ramp[i] + 0.0101);
    /* the tail 0.5164 exp(-t / 0.1) is within 0.2 of the felt line after 0.32 s with dead time */
    CHECK_WITHIN(found->end, RAMP_START + 0.97 * ramp[i], RAMP_START + ramp[i] + 0.35);
    CHECK_CLOSE(found->share_start, 1.0, 0.02);
    CHECK_CLOSE(found->share_end, 0.0, 0.02);
    assert_int_equal(found->time_above_felt > 0.0, dip[i] > 0.015 * BW_GRAVITY);
    bw_handover_free(&finder);
  }
}

/* HO-4, derived: the band a^2 (tau + theta)/a_thr keeps the dip at the felt line: 2.45 / 9.79 /
 * 22.0 km/h for 1 / 2 / 3 m/s2 at tau + theta = 0.10 s and 0.015 g */
static void speed_band_rule_holds(void **state) {
  (void)state;
  const double band_kmh[] = {2.45, 9.79, 22.0};
  for (size_t i = 0; i < 3; i++) {
    const double deceleration = (double)(i + 1);
    const struct swap swap = {deceleration / PER_TORQUE,
                              band_kmh[i] / 3.6 / deceleration,
                              0.02,
                              0.08,
                              1.0,
                              40.0,
                              BW_LIMIT_NONE};
    struct bw_gap gap;
    struct bw_handover_finder finder;
    watch_swap(&swap, &gap, &finder);
    CHECK_RELATIVE(gap.dip_peak, 0.015 * BW_GRAVITY, 2e-3); /* band rounded to three digits */
    bw_handover_free(&finder);
  }
}

/* HO-8, derived: a pad friction off by e leaves the step e Delta that does not decay */
static void wrong_pads_leave_a_steady_step(void **state) {
  (void)state;
  const struct swap swap = {2.0 / PER_TORQUE, 1.0, 0.03, 0.10, 0.85, 30.0, BW_LIMIT_NONE};
  struct bw_gap gap;
  struct bw_handover_finder finder;
  watch_swap(&swap, &gap, &finder);
  assert_int_equal(finder.count, 1);
  CHECK_CLOSE(finder.list[0].steady_step, 0.15 * 2.0, 0.01);
  bw_handover_free(&finder);
}

/* friction alone follows a moving demand with its own lag only: no dip, no surge, no hand-over */
static void plain_lag_behind_a_moving_demand_is_not_felt(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  make_machine(made, 0, 1e4, 1e9);
  made->machine[0].lag = 0.01;
  const double lag = 0.1;
  make_friction_delay(made, 0.0437, lag); /* within a period and a sub-step */
  const struct bw_judge judge = bw_judge_make(made);
  struct bw_gap gap;
  assert_int_equal(bw_gap_start(&gap, &judge, NULL), BW_OK);
  uint64_t seed = 11;
  double held[1006] = {0.0};
  double torque = 0.0;
  double gap_peak = 0.0;
  for (size_t i = 5; i < 1005; i++) {
    held[i] = test_uniform(&seed, 0.0, 3000.0);
    struct bw_sample sample = sample_held(&judge, 0.01 * (double)i, 30.0, 0.01,
                                          &(struct sample_torques){.demand = held[i]});
    sample.axle[0].friction_torque = 1.0;
    for (size_t k = 0; k < 100; k++) {
      /* the plain answer in steps of 0.1 ms: the dead time is 4 periods and 37 of them */
      const double input = k < 37 ? held[i - 5] : held[i - 4];
      const double next = input + (torque - input) * exp(-1e-4 / lag);
      const double mean = input + (torque - input) * (1.0 - exp(-1e-4 / lag)) * lag / 1e-4;
      sample.delivered[k / 10] = (k % 10 == 0 ? 0.0 : sample.delivered[k / 10]) + 0.1 * mean;
      torque = next;
    }
    struct bw_period period;
    bw_period_read(&judge, &sample, &period);
    bw_gap_watch(&gap, &sample, &period);
    gap_peak = fmax(gap_peak, sqrt(gap.gap_peak_square));
  }
  CHECK_WITHIN(gap_peak, 500.0, 3000.0); /* the raw gap is there */
  CHECK_CLOSE(gap.dip_peak / PER_TORQUE, 0.0, 1e-5);
  CHECK_CLOSE(gap.surge_peak / PER_TORQUE, 0.0, 1e-5);
  free_case(made);
}

static void bad_filters_and_delays_are_refused(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  made->assess.jerk_cutoff = 500.0;
  const struct bw_judge judge = bw_judge_make(made);
  struct bw_gap gap;
  struct bw_diag diag = {0};
  assert_int_equal(bw_gap_start(&gap, &judge, &diag), BW_E_RANGE);
  assert_non_null(strstr(diag.line[0], "cut-off"));
  made->assess.jerk_cutoff = 10.0;
  make_friction_delay(made, 11.0, 0.1);
  assert_int_equal(bw_gap_start(&gap, &judge, &diag), BW_E_RANGE);
  assert_non_null(strstr(diag.line[1], "dead time"));
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(area_and_peak_laws_hold),
      cmocka_unit_test(worked_dips_are_met),
      cmocka_unit_test(speed_band_rule_holds),
      cmocka_unit_test(wrong_pads_leave_a_steady_step),
      cmocka_unit_test(plain_lag_behind_a_moving_demand_is_not_felt),
      cmocka_unit_test(bad_filters_and_delays_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
