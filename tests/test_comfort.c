/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The price of comfort against closed forms, and what must hold for every curve. */
#include "assess/comfort.h"
#include "assess/evaluate.h"
#include "check.h"
#include "make_case.h"

static const double KMH = 1.0 / 3.6;
static const size_t LAST = BW_COMFORT_POINTS - 1;

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  bw_comfort_watch(context, sample);
  return BW_OK;
}

/* run the case with its curve; gives `energy_recoverable_plant_kj` in J */
static double find(const struct bw_case *made, struct bw_comfort *comfort) {
  bw_comfort_start(comfort, made);
  const struct bw_observer extra = {.context = comfort, .watch = watch};
  struct bw_evaluation evaluation;
  struct bw_diag diag = {0};
  if (bw_evaluate(made, &TEST_FILL, &extra, &evaluation, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  const double plant = evaluation.summary.value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT] * 1e3;
  bw_evaluation_free(&evaluation);
  return plant;
}

/* lossless machine that gives out at `give_out`, brakes alone slow the car; friction of 0.1 s.
 * The machine itself fades within 0.001 km/h: the band decides. */
static struct bw_case *stop_case(double speed, double deceleration, double give_out) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  make_friction_delay(made, 0.03, 0.07);
  made->machine[BW_FRONT].low_speed_zero = give_out;
  made->machine[BW_FRONT].low_speed_full = give_out + 0.001 * KMH;
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_steps(made, 0.002, 2);
  make_stop(made, speed, deceleration, 60.0);
  return made;
}

/* CYC-17, closed form, derived: share captured when it falls straight from 1 at v2 to 0 at v1 */
static double fade_law(double v0, double v2, double v1) {
  const double band = (pow(v2, 3.0) - pow(v1, 3.0)) / 3.0 - v1 * (v2 * v2 - v1 * v1) / 2.0;
  return (0.5 * (v0 * v0 - v2 * v2) + band / (v2 - v1)) / (0.5 * v0 * v0);
}

static void cyc_17_single_stops(void **state) {
  (void)state;
  const double speed_kmh[3] = {30.0, 50.0, 100.0};
  /* CYC-17, [D]: fades 12 to 7 and 10 to 5 km/h, from 30 / 50 / 100 km/h */
  const double printed[2][3] = {{0.8974, 0.9631, 0.9908}, {0.9352, 0.9767, 0.9942}};
  const double give_out[2] = {7.0 * KMH, 5.0 * KMH};
  const double felt = 0.015 * BW_GRAVITY;
  /* HO-4, closed form, derived: the deceleration whose band is 5 km/h at the case's felt limit */
  const double rate = sqrt(5.0 * KMH * felt / 0.10);
  for (int k = 0; k < 2; k++) {
    for (int i = 0; i < 3; i++) {
      const double v0 = speed_kmh[i] * KMH;
      struct bw_case *made = stop_case(v0, rate, give_out[k]);
      struct bw_comfort comfort;
      (void)find(made, &comfort);
      const double whole = 0.5 * 1500.0 * v0 * v0;
      const size_t own = bw_comfort_own_point();
      CHECK_RELATIVE(comfort.felt[own], felt, 1e-12);
      CHECK_CLOSE(comfort.recoverable[own] / whole, printed[k][i], 3e-4);
      for (size_t n = 0; n < LAST; n++) {
        const double band = rate * rate * 0.10 / comfort.felt[n];
        CHECK_RELATIVE(bw_comfort_band(&comfort, n, rate), band, 1e-12);
        if (give_out[k] + band < v0) {
          CHECK_RELATIVE(comfort.recoverable[n] / whole,
                         fade_law(v0, give_out[k] + band, give_out[k]), 5e-4);
        }
      }
      free_case(made);
    }
  }
}

/* more of a felt dip never costs energy, and without a felt limit it is the plant bound */
static void a_wider_felt_limit_never_recovers_less(void **state) {
  (void)state;
  uint64_t seed = 1212;
  for (int n = 0; n < 40; n++) {
    struct bw_case *made =
        stop_case(test_uniform(&seed, 8.0, 35.0), 2.0, test_uniform(&seed, 0.5, 3.0));
    made->machine[BW_FRONT].shaft_torque_peak = test_uniform(&seed, 300.0, 2000.0);
    made->machine[BW_FRONT].power_peak = test_uniform(&seed, 1e4, 1e5);
    const double time[6] = {0.0, 0.4, 2.0, 3.0, 4.0, 8.0};
    double demand[6];
    for (int i = 0; i < 6; i++) {
      demand[i] = test_uniform(&seed, 0.0, 5.0);
    }
    make_trace(made, BW_TRACE_DECEL, time, demand, 6);
    struct bw_comfort comfort;
    const double plant = find(made, &comfort);
    for (size_t i = 1; i < BW_COMFORT_POINTS; i++) {
      CHECK_WITHIN(comfort.recoverable[i - 1], -1e9,
                   comfort.recoverable[i] + 1e-9 * fabs(comfort.recoverable[i]));
    }
    CHECK_RELATIVE(comfort.recoverable[LAST], plant, 1e-9);
    free_case(made);
  }
}

/* at constant power the machine's share grows as the car slows: that is an exchange as well */
static void a_share_comes_back_over_a_band(void **state) {
  (void)state;
  struct bw_case *made = stop_case(30.0, 2.0, 0.5);
  struct bw_comfort comfort;
  struct bw_sample sample = {.duration = 0.01, .distance = 0.2, .deceleration = 2.0, .demand = 960};
  sample.charge_power = 1e9;
  sample.speed_start = sample.speed_end = 20.0;
  sample.axle[BW_FRONT].friction_torque = 960.0;
  sample.axle[BW_FRONT].friction_work = 960.0 / 0.32 * 0.2;
  bw_comfort_start(&comfort, made);
  bw_comfort_watch(&comfort, &sample); /* the machine can take nothing */
  const size_t own = bw_comfort_own_point();
  CHECK_CLOSE(comfort.share[own], 0.0, 0.0);
  sample.axle[BW_FRONT].available = sample.axle[BW_FRONT].envelope = 1e4;
  for (int i = 1; i <= 200; i++) {
    bw_comfort_watch(&comfort, &sample);
    /* HO-1, HO-2, closed form, derived: dip a (tau + theta)/T of an exchange that lasts T */
    const double lasting = 2.0 * 0.10 / comfort.felt[own];
    CHECK_CLOSE(comfort.share[own], fmin(1.0, i * 0.01 / lasting), 1e-9);
    CHECK_CLOSE(comfort.share[LAST], 1.0, 0.0);
  }
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cyc_17_single_stops),
      cmocka_unit_test(a_wider_felt_limit_never_recovers_less),
      cmocka_unit_test(a_share_comes_back_over_a_band),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
