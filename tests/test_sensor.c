/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_slip.h"
#include "sim/sensor.h"
#include "sim/wheel_sense.h"

#include <gsl/gsl_cdf.h>
#include <stdlib.h>
#include <string.h>

/** Sensors: resolution, noise and delay, and the speed that an antilock controller makes of them.
 */

static const double RARE = 1e-4; /* chance of a bound to be missed by chance alone */

static void reading_is_on_the_grid(void **state) {
  (void)state;
  const struct bw_sensor sensor = {.resolution = 0.37, .noise = 1.3};
  uint64_t seed = 20261126;
  for (int i = 0; i < 5000; i++) {
    const double value = test_uniform(&seed, -300.0, 300.0);
    const double normal = test_uniform(&seed, -4.0, 4.0);
    const double read = bw_sensor_read(&sensor, value, normal);
    CHECK_CLOSE(read, 0.37 * round(read / 0.37), 0.0);
    CHECK_CLOSE(read, value + 1.3 * normal, 0.5 * 0.37 * (1.0 + 1e-12));
  }
  /* an exact sensor touches nothing */
  CHECK_CLOSE(bw_sensor_read(&(struct bw_sensor){0}, 0.1 + 0.2, 3.0), 0.1 + 0.2, 0.0);
}

/* a straight line comes back late by exactly the delay, whatever part of a period it ends in */
static void late_line_is_moved(void **state) {
  (void)state;
  const double delays[] = {0.0, 0.4, 1.0, 2.75, 17.0, 253.9};
  for (size_t d = 0; d < sizeof delays / sizeof delays[0]; d++) {
    struct bw_sense_line line;
    for (uint64_t k = 0; k < 1000; k++) {
      const double read = bw_sense_late(&line, k, 7.0 + 3.0 * (double)k, delays[d]);
      CHECK_CLOSE(read, 7.0 + 3.0 * fmax(0.0, (double)k - delays[d]), 1e-9);
    }
  }
}

enum { ROOM = 2000, SIGNALS = 7 };

/* what the strategy read and what was, period by period */
struct log {
  const struct bw_case *made;
  size_t n;
  struct bw_blend_input input;
  double read[SIGNALS][ROOM];
  double was[SIGNALS][ROOM];
};

static enum bw_status look(void *context, const struct bw_blend_input *input,
                           const struct bw_blend_request *request, struct bw_diag *diag) {
  (void)diag;
  struct log *log = context;
  if (request == NULL) {
    log->input = *input;
  }
  return BW_OK;
}

static enum bw_status keep(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct log *log = context;
  assert_true(sample->is_sensed && log->n < ROOM);
  const size_t k = log->n++;
  const struct bw_sample_truth *truth = &sample->truth;
  log->read[0][k] = log->input.speed;
  log->was[0][k] = truth->speed;
  CHECK_CLOSE(truth->speed, fabs(sample->speed_start), 0.0);
  for (size_t i = 0; i < 2; i++) {
    log->read[1 + i][k] = log->input.friction_estimate[i];
    log->was[1 + i][k] = truth->friction[i];
    log->read[3 + i][k] = log->input.machine_estimate[i];
    log->was[3 + i][k] = truth->machine[i];
    log->read[5 + i][k] = log->input.slip[i];
    log->was[5 + i][k] = truth->slip[i];
  }
  return BW_OK;
}

static struct log *run_log(const struct bw_case *made) {
  struct log *log = calloc(1, sizeof *log);
  assert_non_null(log);
  log->made = made;
  const struct bw_observer observer = {.context = log, .watch = keep, .consult = look};
  struct bw_diag diag = {0};
  if (bw_run(made, &TEST_SIXTY, NULL, &observer, 1, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  assert_true(log->n > 300);
  return log;
}

/* a stop by machine and friction in either fidelity, threshold pressure and lags included */
static struct bw_case *make_sensed(enum bw_fidelity fidelity) {
  struct bw_case *made =
      fidelity == BW_FIDELITY_SLIP ? make_slip_case(BW_TYRE_ASPHALT_DRY) : make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  make_friction_delay(made, 0.02, 0.05);
  made->machine[BW_FRONT].lag = 0.02;
  for (int i = 0; i < 2; i++) {
    made->brakes.axle[i].threshold = 1e5;
  }
  made->brakes.is_prefilled = true;
  make_stop(made, 30.0, 3.0, 9.0);
  made->seed = (struct bw_seed){.seed = 237.0, .run = 5.0};
  return made;
}

static void controller_reads_steps(void **state) {
  (void)state;
  for (int f = 0; f < 2; f++) {
    struct bw_case *made = make_sensed((enum bw_fidelity)f);
    made->sensors.speed.resolution = 0.3;
    made->sensors.pressure.resolution = 2.5e4;
    made->sensors.torque.resolution = 11.0;
    struct log *log = run_log(made);
    for (size_t k = 0; k < log->n; k++) {
      CHECK_CLOSE(log->read[0][k], 0.3 * round(log->was[0][k] / 0.3), 0.0);
      CHECK_CLOSE(log->read[3][k], 11.0 * round(log->was[3][k] / 11.0), 0.0);
      for (size_t i = 0; i < 2; i++) {
        const double step = 2.5e4 * made->brakes.axle[i].per_pressure;
        const double torque = log->read[1 + i][k];
        CHECK_CLOSE(torque, step * round(torque / step), 1e-9 * step);
        CHECK_CLOSE(torque, log->was[1 + i][k], 0.5 * step * (1.0 + 1e-9));
      }
    }
    free(log);
    free_case(made);
  }
}

static void controller_reads_late(void **state) {
  (void)state;
  for (int f = 0; f < 2; f++) {
    struct bw_case *made = make_sensed((enum bw_fidelity)f);
    made->sensors.speed.delay = 0.0237;
    made->sensors.torque.delay = 0.050;
    struct log *log = run_log(made);
    for (size_t k = 5; k < log->n; k++) {
      const double *speed = log->was[0];
      CHECK_CLOSE(log->read[0][k], 0.63 * speed[k - 2] + 0.37 * speed[k - 3], 1e-9);
      CHECK_CLOSE(log->read[3][k], log->was[3][k - 5], 1e-9);
      CHECK_CLOSE(log->read[1][k], log->was[1][k], 0.0);
    }
    CHECK_CLOSE(log->read[0][1], 30.0, 0.0);
    free(log);
    free_case(made);
  }
}

/* sum of squared errors over the variance is chi-square with n, their mean normal with 1/sqrt(n) */
static void check_noise(const double *read, const double *was, size_t n, double noise) {
  double sum = 0.0;
  double squares = 0.0;
  for (size_t k = 0; k < n; k++) {
    const double z = (read[k] - was[k]) / noise;
    sum += z;
    squares += z * z;
  }
  CHECK_CLOSE(sum / sqrt((double)n), 0.0, gsl_cdf_ugaussian_Qinv(RARE));
  CHECK_WITHIN(squares, gsl_cdf_chisq_Pinv(RARE, (double)n), gsl_cdf_chisq_Qinv(RARE, (double)n));
}

static void controller_reads_noise(void **state) {
  (void)state;
  for (int f = 0; f < 2; f++) {
    struct bw_case *made = make_sensed((enum bw_fidelity)f);
    made->sensors.speed.noise = 0.05;
    made->sensors.pressure.noise = 1e4;
    made->sensors.torque.noise = 13.0;
    struct log *log = run_log(made);
    check_noise(log->read[0], log->was[0], log->n - 50, 0.05);
    check_noise(log->read[3], log->was[3], log->n, 13.0);
    /* past the start the pressures stand well above their threshold */
    for (size_t i = 0; i < 2; i++) {
      check_noise(log->read[1 + i] + 50, log->was[1 + i] + 50, log->n - 60,
                  1e4 * made->brakes.axle[i].per_pressure);
    }
    free(log);
    free_case(made);
  }
}

static uint64_t hash_of(const struct bw_case *made) {
  const double params[TEST_FADE_PARAMS] = {20.0, 10.0};
  struct test_record record = {0};
  record_run(made, &TEST_FADE, params, &record);
  assert_true(record.residual_worst < 1e-9);
  const uint64_t hash = record.hash;
  free_record(&record);
  return hash;
}

static void seed_and_repetition_decide(void **state) {
  (void)state;
  for (int f = 0; f < 2; f++) {
    struct bw_case *made = make_sensed((enum bw_fidelity)f);
    const uint64_t exact = hash_of(made);
    made->sensors.speed.noise = 0.05;
    const uint64_t first = hash_of(made);
    made->seed.run = 6.0;
    const uint64_t run = hash_of(made);
    made->seed = (struct bw_seed){.seed = 238.0, .run = 5.0};
    const uint64_t seed = hash_of(made);
    made->seed.seed = 237.0;
    assert_true(hash_of(made) == first);
    assert_true(run != first && seed != first && run != seed && first != exact);
    made->sensors = (struct bw_sensors){0};
    made->seed.seed = 1.0;
    assert_true(hash_of(made) == exact);
    free_case(made);
  }
}

/* wheels that all but stop at once: the reference goes on as the accelerometer says and the margin
 * allows; wheels that come back take it with them; the fastest alone does not count */
static void reference_falls_no_faster_than_the_car(void **state) {
  (void)state;
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  make_antilock(made, BW_REGENERATION_CUT);
  made->slip.antilock.estimates_speed = true;
  made->slip.antilock.reference_margin = 0.7;
  struct bw_wheel_sense sense = {0};
  for (int k = 0; k <= 200; k++) {
    const double rim = k < 100 ? 20.0 : 1.0;
    struct bw_wheel_view view = {
        .rim = {{rim, rim}, {rim, rim}}, .speed = 19.0, .deceleration = k < 100 ? 0.0 : 3.0};
    bw_wheel_sense_read(made, &sense, &view);
    CHECK_CLOSE(view.speed, k < 100 ? 20.0 : 20.0 - (3.0 + 0.7) * 0.005 * (k - 99), 1e-9);
    CHECK_CLOSE(view.rim[1][0], rim, 0.0);
  }
  struct bw_wheel_view back = {.rim = {{18.5, 1.0}, {18.9, 1.0}}, .deceleration = 3.0};
  bw_wheel_sense_read(made, &sense, &back);
  CHECK_CLOSE(back.speed, 18.5, 1e-12);
  free_case(made);
}

/* a filter of tau on a step: 1 - (1 - T/(T + tau))^k, derived; in the reference alone, which knows
 * that wheels which slow down with the car come out of it by a tau too fast */
static void filter_is_first_order(void **state) {
  (void)state;
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  make_antilock(made, BW_REGENERATION_CUT);
  made->slip.antilock.estimates_speed = true;
  made->slip.antilock.filter = 0.02;
  struct bw_wheel_sense sense = {0};
  for (int k = 0; k < 50; k++) {
    const double rim = k > 0 ? 11.0 : 10.0;
    struct bw_wheel_view view = {.rim = {{rim, rim}, {rim, rim}}};
    bw_wheel_sense_read(made, &sense, &view);
    CHECK_CLOSE(view.speed, 11.0 - pow(0.8, k), 1e-12);
    CHECK_CLOSE(view.rim[0][0], rim, 0.0);
  }
  sense = (struct bw_wheel_sense){0};
  double last = 0.0;
  for (int k = 0; k < 200; k++) {
    const double rim = 20.0 - 0.005 * 5.0 * k;
    struct bw_wheel_view view = {.rim = {{rim, rim}, {rim, rim}}, .deceleration = 5.0};
    bw_wheel_sense_read(made, &sense, &view);
    last = view.speed - rim;
  }
  CHECK_CLOSE(last, 0.0, 1e-9);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(reading_is_on_the_grid),
      cmocka_unit_test(late_line_is_moved),
      cmocka_unit_test(controller_reads_steps),
      cmocka_unit_test(controller_reads_late),
      cmocka_unit_test(controller_reads_noise),
      cmocka_unit_test(seed_and_repetition_decide),
      cmocka_unit_test(reference_falls_no_faster_than_the_car),
      cmocka_unit_test(filter_is_first_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
