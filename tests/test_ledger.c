/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ledger, kinematic check and cascade on made samples. */
#include "assess/cascade.h"
#include "assess/kinematic.h"
#include "assess/ledger.h"
#include "check.h"
#include "samples.h"

#include <string.h>

static struct bw_ledger_keeper keep_stop(const struct bw_judge *judge) {
  struct bw_ledger_keeper keeper = {0};
  double speed = 30.0;
  for (int i = 0; i < 400; i++) {
    const struct sample_torques torques = {
        .demand = 1500.0, .machine = {800.0, 100.0}, .friction = {400.0, 200.0}};
    const struct bw_sample sample = sample_held(judge, 0.01 * i, speed, 0.01, &torques);
    bw_ledger_watch(&keeper, &sample);
    speed = sample.speed_end;
  }
  return keeper;
}

static void closed_books_have_no_residual(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  struct bw_ledger_keeper keeper = keep_stop(&judge);
  struct bw_summary summary;
  struct bw_ledger ledger;
  assert_int_equal(bw_ledger_finish(&keeper, &summary, &ledger, NULL), BW_OK);
  CHECK_WITHIN(ledger.residual_mechanical, 0.0, 1e-12);
  CHECK_WITHIN(ledger.residual_electrical, 0.0, 1e-12);
  /* shares of a held split are those of the torques */
  const double total = ledger.kinetic_start - ledger.kinetic_end;
  CHECK_RELATIVE(ledger.machine, total * 900.0 / 1500.0, 1e-12);
  CHECK_RELATIVE(ledger.friction[1], total * 200.0 / 1500.0, 1e-12);
  free_case(made);
}

static void lost_work_is_refused(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  const char *named[] = {"mechanical", "mechanical", "electrical", "electrical", "electrical"};
  for (int i = 0; i < 5; i++) {
    struct bw_ledger_keeper keeper = keep_stop(&judge);
    double *entry[] = {&keeper.totals.road, &keeper.totals.tyre, &keeper.totals.cells,
                       &keeper.totals.gear, &keeper.totals.auxiliaries};
    *entry[i] += i == 1 ? (double)NAN : 5.0;
    struct bw_summary summary;
    struct bw_ledger ledger;
    struct bw_diag diag = {0};
    assert_int_equal(bw_ledger_finish(&keeper, &summary, &ledger, &diag), BW_E_NUMERIC);
    assert_non_null(strstr(diag.line[0], named[i]));
  }
  free_case(made);
}

/* the check sees torques, speeds and slope only: works of the sample may be nonsense */
static void kinematic_check_uses_no_work_of_the_sample(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  for (int wrong = 0; wrong < 2; wrong++) {
    struct bw_kinematic check = bw_kinematic_start(&judge, 30.0);
    double speed = 30.0;
    for (int i = 0; i < 300; i++) {
      /* a driving tail of 40 N m decays into the braking */
      const struct sample_torques torques = {.machine = {i < 10 ? -40.0 : 700.0, 0.0},
                                             .friction = {0.0, 300.0}};
      struct bw_sample sample = sample_held(&judge, 0.01 * i, speed, 0.01, &torques);
      sample.axle[0].machine_work = (double)NAN;
      sample.axle[1].friction_work = (double)NAN;
      sample.road_work = sample.potential = sample.distance = (double)NAN;
      sample.axle[1].friction_torque *= wrong == 1 ? 1.001 : 1.0;
      bw_kinematic_watch(&check, &sample);
      speed = sample.speed_end;
    }
    const double residual = bw_kinematic_residual(&check);
    if (wrong == 0) {
      CHECK_WITHIN(residual, 0.0, 1e-10);
    } else {
      CHECK_CLOSE(residual, 0.3e-3, 0.02e-3); /* 0.001 of the 0.3 that friction does */
    }
  }
  free_case(made);
}

/* coast-down with constant and quadratic road load in the sampled speeds: 100 to 80 km/h of RV-1
 * takes 22.449 s and 558.431 m, closed form, derived (KIN-4); with no brake work the road load
 * must account for all of the kinetic energy */
static void road_load_of_the_check_is_the_coast_downs(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  made->trace.kind = BW_TRACE_DECEL;
  const struct bw_judge judge = bw_judge_make(made);
  const double a = made->vehicle.road_f0;
  const double c = made->vehicle.road_f2;
  const double s = sqrt(c / a);
  const double angle = atan(100.0 / 3.6 * s);
  struct bw_kinematic check = bw_kinematic_start(&judge, 100.0 / 3.6);
  double speed = 100.0 / 3.6;
  double distance = 0.0;
  int i = 0;
  for (; speed > 80.0 / 3.6; i++) {
    struct bw_sample sample = {.duration = 0.01, .speed_start = speed};
    sample.speed_end = tan(angle - sqrt(a * c) / 1500.0 * 0.01 * (i + 1)) / s;
    bw_kinematic_watch(&check, &sample);
    distance += 0.005 * (speed + sample.speed_end);
    speed = sample.speed_end;
  }
  CHECK_CLOSE(0.01 * i, 22.449, 0.01);
  CHECK_CLOSE(distance, 558.431, 0.25);
  const double lost = 0.5 * 1500.0 * (pow(100.0 / 3.6, 2.0) - speed * speed);
  CHECK_RELATIVE(check.road, lost, 1e-7);
  assert_true(isnan(bw_kinematic_residual(&check))); /* nothing was braked */
  free_case(made);
}

/* CYC-17, derived: one stop at constant deceleration, the machine's share falls straight from 1 at
 * v2 to 0 at v1. Fade 12 -> 7 km/h: 0.8974 / 0.9631 / 0.9908 from 30 / 50 / 100 km/h; fade
 * 10 -> 5: 0.9352 / 0.9767 / 0.9942 */
static void fade_leaves_the_captured_share_of_the_closed_form(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  make_machine(made, 0, 1e4, 1e9);
  const struct bw_judge judge = bw_judge_make(made);
  const double from_kmh[] = {30.0, 50.0, 100.0};
  const double captured[2][3] = {{0.8974, 0.9631, 0.9908}, {0.9352, 0.9767, 0.9942}};
  for (int n = 0; n < 6; n++) {
    const double high = (n < 3 ? 12.0 : 10.0) / 3.6;
    const double low = (n < 3 ? 7.0 : 5.0) / 3.6;
    const double torque = 2.0 * 1500.0 * 0.32;
    struct bw_cascade cascade = bw_cascade_start(&judge, true);
    double speed = from_kmh[n % 3] / 3.6;
    const int periods = (int)ceil(speed / 2.0 / 0.01);
    const double duration = speed / 2.0 / periods;
    for (int i = 0; i < periods; i++) {
      const double middle = speed - duration;
      const double share = fmin(1.0, fmax(0.0, (middle - low) / (high - low)));
      const struct sample_torques torques = {.demand = torque,
                                             .machine = {share * torque, 0.0},
                                             .friction = {(1.0 - share) * torque, 0.0}};
      const struct bw_sample sample = sample_held(&judge, 0.0, speed, duration, &torques);
      struct bw_period period;
      bw_period_read(&judge, &sample, &period);
      bw_cascade_watch(&cascade, &sample, &period);
      speed = sample.speed_end;
    }
    CHECK_CLOSE(cascade.machine / cascade.demanded, captured[n / 3][n % 3], 6e-5);
    CHECK_RELATIVE(cascade.delivered, cascade.demanded, 1e-12);
    CHECK_RELATIVE(cascade.machine + cascade.friction[0], cascade.delivered, 1e-12);
  }
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(closed_books_have_no_residual),
      cmocka_unit_test(lost_work_is_refused),
      cmocka_unit_test(kinematic_check_uses_no_work_of_the_sample),
      cmocka_unit_test(road_load_of_the_check_is_the_coast_downs),
      cmocka_unit_test(fade_leaves_the_captured_share_of_the_closed_form),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
