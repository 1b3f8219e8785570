/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_slip.h"

#include <string.h>

/** Wheels of their own: when they lock, what they hold, and where the energy goes. BAL- and DES-n
 *  number the project's list of physics checks; their values are closed forms, derived there. */

/* what a run did */
struct books {
  double kinetic_start;
  double kinetic_end;
  double in;  /* J, drive */
  double out; /* J, everything that takes energy */
  double tyre;
  double machine;
  double battery;
  double time; /* s */
  double way;
  double speed;        /* m/s at the end */
  double lock_rate[2]; /* braking rate z when a wheel of the axle first passed the curve's peak */
  double lock_time[2]; /* s, when that was */
  double peak_slip;
  double slip_most[2];
  double locked;
  double antilock;
  double rest_time; /* s at which the car came to rest, NaN */
  double shortfall;
  double residual_worst; /* of a period, over the energy at the start */
  bool is_parked;
};

static enum bw_status keep(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct books *books = context;
  if (!(books->time > 0.0)) {
    books->kinetic_start = sample->kinetic_start;
    books->lock_rate[0] = books->lock_rate[1] = books->rest_time = (double)NAN;
    books->lock_time[0] = books->lock_time[1] = (double)INFINITY;
  }
  double in = 0.0;
  double out = sample->road_work + sample->potential;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    in += axle->drive_work;
    out += axle->machine_work + axle->friction_work + axle->tyre_loss + axle->shaft_loss;
    books->tyre += axle->tyre_loss;
    books->machine += axle->machine_work;
    if (isnan(books->lock_rate[i]) && axle->slip > books->peak_slip) {
      books->lock_rate[i] = sample->deceleration / BW_GRAVITY;
      books->lock_time[i] = sample->time;
    }
    books->slip_most[i] = fmax(books->slip_most[i], axle->slip_peak);
  }
  books->in += in;
  books->out += out;
  books->battery += sample->battery_work;
  books->locked += sample->locked_time;
  books->antilock += sample->antilock_time;
  books->shortfall = fmax(books->shortfall, sample->hold_shortfall);
  const double residual = sample->kinetic_start + in - sample->kinetic_end - out;
  books->residual_worst =
      fmax(books->residual_worst, fabs(residual) / fmax(books->kinetic_start, 1.0));
  books->kinetic_end = sample->kinetic_end;
  books->time = sample->time + sample->duration;
  books->way += sample->distance;
  books->speed = sample->speed_end;
  books->is_parked = sample->is_parked;
  if (isnan(books->rest_time) && sample->speed_start > 0.0 && !(sample->speed_end > 0.0)) {
    books->rest_time = sample->time;
  }
  return BW_OK;
}

static void run(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                struct books *books) {
  *books = (struct books){.peak_slip = made->slip.tyre.peak_slip * made->vehicle.adhesion /
                                       made->slip.tyre.peak};
  const struct bw_observer observer = {.context = books, .watch = keep};
  struct bw_diag diag = {0};
  if (bw_run(made, strategy, NULL, &observer, 1, &diag) != BW_OK) {
    fail_msg("run of '%s' failed: %s", strategy->name, diag.line[0]);
  }
}

static double ledger(const struct books *books) {
  return fabs(books->kinetic_start + books->in - books->kinetic_end - books->out) /
         (books->kinetic_start + books->in);
}

/* a demand that rises by `jerk` m/s3 from `speed` */
static void make_rise(struct bw_case *made, double speed, double jerk, double duration) {
  const double time[2] = {0.0, duration};
  const double value[2] = {0.0, jerk * duration};
  made->driver.initial_speed = speed;
  make_trace(made, BW_TRACE_DECEL, time, value, 2);
}

/* the greatest friction of the curve brought to `mu` */
static struct bw_case *make_grip(double mu) {
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  made->vehicle.adhesion = mu;
  /* rotating wheels help neither axle much, but the closed forms know no inertia at all */
  made->vehicle.wheel_inertia[0] = made->vehicle.wheel_inertia[1] = 0.1;
  return made;
}

static void bal_5_first_lock_with_both_axles(void **state) {
  (void)state;
  /* BAL-5 [D]: beta = 0.65; greatest z before the first lock, and the axle */
  const double want[4][3] = {{0.1, 0.0882, BW_FRONT},
                             {0.3, 0.2825, BW_FRONT},
                             {0.5, 0.4938, BW_REAR},
                             {0.8, 0.6972, BW_REAR}};
  for (int i = 0; i < 4; i++) {
    struct bw_case *made = make_grip(want[i][0]);
    made->brakes.axle[BW_FRONT].per_pressure = 6.5e-4;
    made->brakes.axle[BW_REAR].per_pressure = 3.5e-4;
    make_rise(made, 60.0, 0.4, 40.0);
    struct books books;
    run(made, &TEST_FRICTION, &books);
    const int first = (int)want[i][2];
    const int other = 1 - first;
    CHECK_RELATIVE(books.lock_rate[first], want[i][1], 0.01);
    assert_true(books.lock_time[first] < books.lock_time[other]);
    CHECK_WITHIN(ledger(&books), 0.0, 1e-9);
    free_case(made);
  }
}

static void bal_6_and_7_regeneration_on_one_axle(void **state) {
  (void)state;
  /* BAL-6 [D]; BAL-7: 0.0855 g and 0.1157 g are 0.838 and 1.135 m/s2 */
  const double mu[5] = {0.1, 0.2, 0.3, 0.5, 0.8};
  const double want[2][5] = {{0.0567, 0.1157, 0.1773, 0.3086, 0.5291},
                             {0.0436, 0.0855, 0.1258, 0.2020, 0.3065}};
  for (int axle = 0; axle < 2; axle++) {
    for (int i = 0; i < 5; i++) {
      struct bw_case *made = make_grip(mu[i]);
      make_machine(made, axle, 1e5, 1e9);
      make_rise(made, 60.0, 0.3, 40.0);
      struct books books;
      run(made, &TEST_MACHINE, &books);
      CHECK_RELATIVE(books.lock_rate[axle], want[axle][i], 0.01);
      assert_true(isnan(books.lock_rate[1 - axle]));
      CHECK_WITHIN(ledger(&books), 0.0, 1e-9);
      free_case(made);
    }
  }
  CHECK_CLOSE(0.0855 * BW_GRAVITY, 0.838, 1e-3);
  CHECK_CLOSE(0.1157 * BW_GRAVITY, 1.135, 1e-3);
}

/* a car put at rest on `grade` with one axle's brake pulled */
static void stand_on(double mu, double grade, int axle, struct books *books) {
  struct bw_case *made = make_grip(mu);
  made->brakes.axle[1 - axle].per_pressure = 0.0;
  made->driver.goes_on_at_rest = true;
  make_stop(made, 0.0, 12.0, 3.0);
  make_grade(made, grade);
  run(made, &TEST_FRICTION, books);
  free_case(made);
}

static void des_4_greatest_grade_held_by_one_axle(void **state) {
  (void)state;
  /* DES-4 [D]: tan(theta), rear up, rear down, front up, front down */
  const double mu[2] = {0.8, 0.2};
  const double want[2][4] = {{0.4233, 0.3065, 0.3831, 0.5291}, {0.0926, 0.0855, 0.1068, 0.1157}};
  for (int i = 0; i < 2; i++) {
    for (int k = 0; k < 4; k++) {
      const int axle = k < 2 ? BW_REAR : BW_FRONT;
      const double sign = k % 2 == 0 ? 1.0 : -1.0;
      struct books books;
      stand_on(mu[i], sign * (want[i][k] - 1.5e-4), axle, &books);
      CHECK_CLOSE(books.speed, 0.0, 0.0);
      assert_true(books.is_parked);
      stand_on(mu[i], sign * (want[i][k] + 1.5e-4), axle, &books);
      /* the standing wheels slide as far as the curve falls behind its peak */
      assert_true(sign * books.speed < 0.0);
      CHECK_WITHIN(books.shortfall, 1e-3, 50.0);
    }
  }
}

static void locked_wheels_slide_at_the_locked_value(void **state) {
  (void)state;
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  make_stop(made, 25.0, 20.0, 30.0);
  struct books books;
  run(made, &TEST_FRICTION, &books);
  /* mu(1) = 0.7601: v^2/(2 mu g) after the lock, which takes a few hundredths of a second */
  const double sliding = 25.0 * 25.0 / (2.0 * 0.7601 * BW_GRAVITY);
  CHECK_RELATIVE(books.way, sliding, 0.03);
  CHECK_WITHIN(books.locked, 2.0, 4.0);
  /* nearly everything is slip heat */
  CHECK_WITHIN(books.tyre / books.kinetic_start, 0.9, 1.0);
  CHECK_WITHIN(ledger(&books), 0.0, 1e-9);
  CHECK_WITHIN(books.residual_worst, 0.0, 1e-12);
  free_case(made);
}

static void every_kind_of_run_keeps_its_books(void **state) {
  (void)state;
  uint64_t seed = 4711;
  for (int i = 0; i < 60; i++) {
    struct bw_case *made = make_slip_case((enum bw_tyre_surface)(i % 7));
    made->vehicle.wheel_inertia[0] = test_uniform(&seed, 0.3, 3.0);
    made->slip.tyre.relaxation = i % 3 == 0 ? 0.0 : test_uniform(&seed, 0.02, 0.4);
    made->slip.step = i % 5 == 0 ? 1e-3 : (i % 5 == 1 ? 5e-4 : 1e-4);
    made->slip.pitch_lag = i % 2 == 0 ? 0.0 : 0.15;
    made->vehicle.road_f0 = 147.0;
    made->vehicle.road_f2 = 0.36;
    made->driver.goes_on_at_rest = i % 4 == 1;
    make_friction_delay(made, 0.03, 0.07);
    make_machine(made, i % 2, 2200.0, 70e3);
    made->machine[i % 2].ratio = 9.0;
    made->machine[i % 2].shaft_torque_peak = 250.0;
    made->machine[i % 2].inertia = 0.04;
    made->machine[i % 2].low_speed_zero = 1.0;
    made->machine[i % 2].low_speed_full = 2.0;
    if (i % 3 != 1 && made->slip.step < 9e-4) {
      made->slip.driveline[i % 2] = (struct bw_driveline){
          .stiffness = test_uniform(&seed, 3e3, 2e4), .damping = 40.0, .lash = 0.03 * (i % 2)};
    }
    if (i % 4 != 0) {
      make_antilock(made, (enum bw_regeneration_policy)(i % 5));
    }
    if (i % 6 == 0) {
      const double distance[3] = {0.0, 8.0, 20.0};
      const double left[3] = {0.8, 0.15, 0.8};
      const double right[3] = {0.8, i % 12 == 0 ? 0.6 : 0.15, 0.8};
      assert_int_equal(bw_surface_make(distance, left, right, 3, &made->slip.surface, NULL), BW_OK);
    }
    make_stop(made, test_uniform(&seed, 5.0, 25.0), test_uniform(&seed, 0.5, 9.0), 12.0);
    make_grade(made, test_uniform(&seed, -0.1, 0.1));
    struct books books;
    run(made, i % 7 == 3 ? &TEST_FRICTION : &TEST_FILL, &books);
    CHECK_WITHIN(ledger(&books), 0.0, 1e-9);
    CHECK_WITHIN(books.residual_worst, 0.0, 1e-10);
    free_case(made);
  }
}

static void rolling_and_slip_agree_on_a_dry_cycle(void **state) {
  (void)state;
  struct books books[2];
  for (int slip = 0; slip < 2; slip++) {
    struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
    made->fidelity = slip == 1 ? BW_FIDELITY_SLIP : BW_FIDELITY_ROLLING;
    made->vehicle.slip_stiffness = made->slip.tyre.stiffness;
    made->vehicle.road_f0 = 147.15;
    made->vehicle.road_f2 = 0.3606;
    make_friction_delay(made, 0.035, 0.07);
    make_machine(made, BW_FRONT, 2200.0, 80e3);
    made->machine[BW_FRONT].ratio = 9.0;
    made->machine[BW_FRONT].shaft_torque_peak = 250.0;
    made->machine[BW_FRONT].inertia = 0.035;
    made->machine[BW_FRONT].lag = 0.01;
    made->machine[BW_FRONT].low_speed_zero = 1.0;
    made->machine[BW_FRONT].low_speed_full = 2.0;
    const double time[] = {0.0, 5.0, 17.0, 40.0, 47.0, 60.0, 90.0, 96.0, 103.0, 110.0};
    const double value[] = {0.0, 0.0, 14.0, 13.0, 3.0, 22.0, 24.0, 9.0, 0.0, 0.0};
    make_trace(made, BW_TRACE_SPEED, time, value, sizeof time / sizeof *time);
    run(made, &TEST_FILL, &books[slip]);
    free_case(made);
  }
  print_message("machines %.1f and %.1f J, battery %.1f and %.1f J, tyres %.1f and %.1f J\n",
                books[0].machine, books[1].machine, books[0].battery, books[1].battery,
                books[0].tyre, books[1].tyre);
  CHECK_RELATIVE(books[1].machine, books[0].machine, 0.005);
  CHECK_RELATIVE(books[1].in, books[0].in, 0.005);
  CHECK_RELATIVE(books[1].out, books[0].out, 0.005);
  CHECK_RELATIVE(books[1].battery, books[0].battery, 0.005);
  /* rolling takes the slope at zero slip; the curve bends, 14 % at mu 0.3 (0.01138 for 0.3/30.19)
   */
  CHECK_WITHIN(books[1].tyre / books[0].tyre, 1.0, 1.2);
  CHECK_RELATIVE(books[1].way, books[0].way, 1e-4);
  CHECK_WITHIN(ledger(&books[1]), 0.0, 1e-9);
}

static void a_rolling_run_reads_nothing_of_it(void **state) {
  (void)state;
  uint64_t hash[2];
  for (int k = 0; k < 2; k++) {
    struct bw_case *made = make_case();
    make_machine(made, BW_FRONT, 1300.0, 47e3);
    make_friction_delay(made, 0.031, 0.083);
    make_stop(made, 21.0, 3.1, 20.0);
    if (k == 1) {
      struct bw_case *slip = make_slip_case(BW_TYRE_SNOW);
      made->slip = slip->slip;
      free_case(slip);
      make_antilock(made, BW_REGENERATION_CUT);
      made->slip.driveline[0] = (struct bw_driveline){8e3, 30.0, 0.05};
    }
    struct test_record record = {0};
    record_run(made, &TEST_FILL, NULL, &record);
    hash[k] = record.hash;
    free_record(&record);
    free_case(made);
  }
  assert_true(hash[0] == hash[1]);
}

static void rolls_back_from_a_weak_brake_and_is_caught(void **state) {
  (void)state;
  /* 8 % uphill at 3 m/s, brakes released while it stands: rolls back; pulled again: rests */
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  made->driver.goes_on_at_rest = true;
  made->driver.initial_speed = 3.0;
  const double time[] = {0.0, 3.0, 3.5, 5.0, 5.2, 9.0};
  const double value[] = {1.0, 1.0, 0.0, 0.0, 4.0, 4.0};
  make_trace(made, BW_TRACE_DECEL, time, value, 6);
  make_grade(made, 0.08);
  struct books books;
  run(made, &TEST_FRICTION, &books);
  CHECK_CLOSE(books.time, 9.0, 1e-9);
  CHECK_CLOSE(books.speed, 0.0, 0.0);
  assert_true(books.is_parked);
  assert_true(books.shortfall > 0.0);
  CHECK_WITHIN(ledger(&books), 0.0, 1e-9);
  free_case(made);
}

static void park_brake_takes_over_the_hold(void **state) {
  (void)state;
  /* 12 %, pedal let go 4 s after rest: with a park brake the car stays, without it rolls */
  for (int k = 0; k < 2; k++) {
    struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
    made->driver.goes_on_at_rest = true;
    made->driver.initial_speed = 4.0;
    made->slip.park_torque = k == 1 ? 1200.0 : 0.0;
    made->slip.park_after = 1.0;
    const double time[] = {0.0, 6.0, 6.1, 12.0};
    const double value[] = {3.0, 3.0, 0.0, 0.0};
    make_trace(made, BW_TRACE_DECEL, time, value, 4);
    make_grade(made, 0.12);
    struct books books;
    run(made, &TEST_FRICTION, &books);
    if (k == 1) {
      CHECK_CLOSE(books.speed, 0.0, 0.0);
    } else {
      /* 5.9 s of m g sin/(m + J/r^2) */
      CHECK_WITHIN(books.speed, -7.2, -6.3);
    }
    free_case(made);
  }
}

static void halving_the_step_shows_the_order(void **state) {
  (void)state;
  /* a firm stop well below the peak, from speed to speed; error against a fifth of the least step
   */
  double way[5];
  const double step[5] = {1e-3, 5e-4, 2.5e-4, 1.25e-4, 2.5e-5};
  for (int i = 0; i < 5; i++) {
    struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
    made->slip.step = step[i];
    made->slip.tyre.relaxation = 0.2;
    made->slip.pitch_lag = 0.2;
    make_friction_delay(made, 0.03, 0.09);
    make_machine(made, BW_FRONT, 3000.0, 1e9);
    made->machine[BW_FRONT].inertia = 2.9;
    made->machine[BW_FRONT].lag = 0.02;
    made->slip.driveline[BW_FRONT] = (struct bw_driveline){.stiffness = 9e3, .damping = 30.0};
    make_stop(made, 30.0, 6.0, 2.0);
    struct books books;
    run(made, &TEST_SIXTY, &books);
    way[i] = books.way;
    free_case(made);
  }
  double error[4];
  for (int i = 0; i < 4; i++) {
    error[i] = fabs(way[i] - way[4]);
    print_message("step %g us: way %.9f m, error %.2e m\n", step[i] * 1e6, way[i], error[i]);
  }
  CHECK_WITHIN(log2(error[0] / error[1]), 1.7, 2.4);
  CHECK_WITHIN(log2(error[1] / error[2]), 1.7, 2.4);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bal_5_first_lock_with_both_axles),
      cmocka_unit_test(bal_6_and_7_regeneration_on_one_axle),
      cmocka_unit_test(des_4_greatest_grade_held_by_one_axle),
      cmocka_unit_test(locked_wheels_slide_at_the_locked_value),
      cmocka_unit_test(every_kind_of_run_keeps_its_books),
      cmocka_unit_test(rolling_and_slip_agree_on_a_dry_cycle),
      cmocka_unit_test(a_rolling_run_reads_nothing_of_it),
      cmocka_unit_test(rolls_back_from_a_weak_brake_and_is_caught),
      cmocka_unit_test(park_brake_takes_over_the_hold),
      cmocka_unit_test(halving_the_step_shows_the_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
