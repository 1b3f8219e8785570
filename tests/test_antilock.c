/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_slip.h"
#include "sim/antilock.h"

/** The antilock controller and what regeneration does under it. */

struct stop {
  double time[3];   /* s at which the car slows through 45, 15 and 7 km/h */
  double single[2]; /* s, through 40 and 20 km/h */
  double rest;      /* s */
  double way;       /* m */
  double locked;
  double antilock;
  double slip_peak;
  double machine_late;  /* N m, front machine, greatest of 0.3 to 0.5 s after that */
  double machine_first; /* N m at the first intervention */
  double first;         /* s, start of the first intervention */
  double ledger;
  double in;
};

static enum bw_status keep(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct stop *stop = context;
  const double mark[3] = {45.0 / 3.6, 15.0 / 3.6, 7.0 / 3.6};
  const double single[2] = {40.0 / 3.6, 20.0 / 3.6};
  const double v0 = sample->speed_start;
  const double v1 = sample->speed_end;
  for (int i = 0; i < 3; i++) {
    if (v0 > mark[i] && v1 <= mark[i]) {
      stop->time[i] = sample->time + sample->duration * (v0 - mark[i]) / (v0 - v1);
    }
  }
  for (int i = 0; i < 2; i++) {
    if (v0 > single[i] && v1 <= single[i]) {
      stop->single[i] = sample->time + sample->duration * (v0 - single[i]) / (v0 - v1);
    }
  }
  if (v0 > 0.0 && !(v1 > 0.0)) {
    stop->rest = sample->time;
  }
  stop->way += sample->distance;
  stop->locked += sample->locked_time;
  if (sample->antilock_time > 0.0 && !(stop->antilock > 0.0)) {
    stop->first = sample->time;
    stop->machine_first = sample->axle[BW_FRONT].machine_torque;
  }
  stop->antilock += sample->antilock_time;
  if (sample->time > stop->first + 0.3 && sample->time < stop->first + 0.5) {
    stop->machine_late = fmax(stop->machine_late, sample->axle[BW_FRONT].machine_torque);
  }
  double residual = sample->kinetic_start - sample->kinetic_end - sample->road_work;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    residual -= axle->machine_work + axle->friction_work + axle->tyre_loss - axle->drive_work;
    stop->slip_peak = fmax(stop->slip_peak, axle->slip_peak);
  }
  stop->ledger += residual;
  stop->in = fmax(stop->in, sample->kinetic_start);
  return BW_OK;
}

static void run(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                struct stop *stop) {
  *stop = (struct stop){.first = 1e9};
  const struct bw_observer observer = {.context = stop, .watch = keep};
  struct bw_diag diag = {0};
  if (bw_run(made, strategy, NULL, &observer, 1, &diag) != BW_OK) {
    fail_msg("run of '%s' failed: %s", strategy->name, diag.line[0]);
  }
  CHECK_WITHIN(fabs(stop->ledger) / stop->in, 0.0, 1e-9);
}

/* brakes with ordinary delays, pressed as hard as they can be */
static struct bw_case *make_panic(enum bw_tyre_surface surface, double speed) {
  struct bw_case *made = make_slip_case(surface);
  make_friction_delay(made, 0.03, 0.05);
  for (int i = 0; i < 2; i++) {
    made->brakes.axle[i].build = 6e7;
    made->brakes.axle[i].release = 8e7;
    made->brakes.axle[i].pressure_max = 1.5e7;
    made->brakes.axle[i].per_pressure = i == 0 ? 5e-4 : 2.5e-4;
  }
  make_stop(made, speed, 12.0, 60.0);
  return made;
}

/* Ways to know the speeds: as they are; the car's from exact wheels; from wheels that are read in
 * steps of 0.1 km/h, with a noise of 0.1 km/h, 10 ms late (chosen here as ordinary). Pressure that
 * goes on falling for 10 ms after the wheel has come back is lost on slippery roads, so the last
 * has the slower release and the longer lead that a late sensor asks for. */
enum { KNOWN, WHEELS, SENSORS, WAYS };
static const char *const WAY_TEXT[WAYS] = {"speed known", "from wheels", "from real sensors"};

static void make_sensing(struct bw_case *made, int way, int run) {
  made->slip.antilock.estimates_speed = way != KNOWN;
  made->slip.antilock.reference_margin = 1.0;
  made->slip.antilock.filter = 0.01;
  made->seed = (struct bw_seed){.seed = 237.0, .run = run};
  if (way == SENSORS) {
    made->sensors.speed =
        (struct bw_sensor){.resolution = 0.1 / 3.6, .noise = 0.1 / 3.6, .delay = 0.01};
    made->slip.antilock.release = 3e7;
    made->slip.antilock.lead = 0.045;
  }
}

static double mass_of(bool is_laden) {
  return is_laden ? 1950.0 : 1500.0;
}

/* Braking rate of one axle without antilock at constant `pressure` (Pa): z_m = 0.566/t_m, t_m from
 * 40 to 20 km/h; 0 when its wheels lock on the way. */
static double single_axle_rate(enum bw_tyre_surface surface, bool is_laden, int axle,
                               double pressure) {
  struct bw_case *made = make_panic(surface, 50.0 / 3.6);
  made->vehicle.load[BW_LOAD_UNLADEN].mass = mass_of(is_laden);
  made->brakes.axle[1 - axle].per_pressure = 0.0;
  const double torque = pressure * made->brakes.axle[axle].per_pressure;
  const double demand = torque / made->vehicle.tyre_radius / bw_case_effective_mass(made);
  make_stop(made, 50.0 / 3.6, demand, 60.0);
  struct stop stop;
  run(made, &TEST_FRICTION, &stop);
  free_case(made);
  return stop.locked > 0.0 ? 0.0 : 20.0 / 3.6 / BW_GRAVITY / (stop.single[1] - stop.single[0]);
}

/* the greatest of them: the pressure is raised until the wheels lock, then taken back by halves */
static double single_axle_stops(enum bw_tyre_surface surface, bool is_laden, int axle) {
  double held = 0.0;
  double best = 0.0;
  double locks = 1.5e7;
  for (int i = 0; i < 12; i++) {
    const double pressure = 0.5 * (held + locks);
    const double rate = single_axle_rate(surface, is_laden, axle, pressure);
    best = fmax(best, rate);
    held = rate > 0.0 ? pressure : held;
    locks = rate > 0.0 ? locks : pressure;
  }
  return best;
}

/* k_M (EU 2015/68 Annex XI App. 2, read; load weighting there, algebra derived): friction used by
 * each axle alone, weighted by the axles' loads at the rate `rate` that the antilock reaches */
static double single_axle_grip(enum bw_tyre_surface surface, bool is_laden, double rate) {
  const double mass = mass_of(is_laden);
  /* RV-1: centre of gravity 1.20 m behind the front axle of 2.70 m, 0.54 m high */
  const double rest[2] = {mass * BW_GRAVITY * 1.5 / 2.7, mass * BW_GRAVITY * 1.2 / 2.7};
  const double transfer = 0.54 / 2.7 * mass * BW_GRAVITY;
  double grip = 0.0;
  for (int axle = 0; axle < 2; axle++) {
    const double sign = axle == BW_FRONT ? 1.0 : -1.0;
    const double alone = single_axle_stops(surface, is_laden, axle);
    const double k = alone * mass * BW_GRAVITY / (rest[axle] + sign * transfer * alone);
    grip += k * (rest[axle] + sign * transfer * rate) / (mass * BW_GRAVITY);
  }
  return grip;
}

static void check_grip(enum bw_tyre_surface surface, bool is_laden, int way) {
  /* epsilon = z_AL/k_M >= 0.75 on k <= 0.3 and on k about 0.8, from 50 km/h; z_AL = 0.849/t from
   * 45 to 15 km/h (EU 2015/68 Annex XI, 5.2 and App. 2, read; constant derived). k_M is the curve's
   * peak here, which no car can pass; the test below takes it from single-axle stops. */
  struct bw_case *made = make_panic(surface, 50.0 / 3.6);
  made->vehicle.load[BW_LOAD_UNLADEN].mass = mass_of(is_laden);
  make_antilock(made, BW_REGENERATION_CUT);
  make_sensing(made, way, (int)surface);
  struct stop stop;
  run(made, &TEST_FRICTION, &stop);
  const double epsilon =
      30.0 / 3.6 / BW_GRAVITY / (stop.time[1] - stop.time[0]) / made->slip.tyre.peak;
  print_message("%s, %s, %s: epsilon %.3f, locked above 15 km/h %.3f s, greatest slip %.2f\n",
                bw_tyre_surface_text(surface), is_laden ? "laden" : "unladen", WAY_TEXT[way],
                epsilon, stop.locked, stop.slip_peak);
  CHECK_WITHIN(epsilon, 0.75, 1.0);
  /* brief periods of locking are allowed */
  CHECK_WITHIN(stop.locked, 0.0, 0.1);
  assert_true(stop.antilock > 0.3);
  free_case(made);
}

static void uses_three_quarters_of_the_grip(void **state) {
  (void)state;
  const enum bw_tyre_surface surface[] = {BW_TYRE_ASPHALT_DRY, BW_TYRE_ASPHALT_WET,
                                          BW_TYRE_CONCRETE_DRY, BW_TYRE_COBBLES_WET, BW_TYRE_SNOW};
  for (size_t i = 0; i < sizeof surface / sizeof *surface; i++) {
    for (int way = 0; way < WAYS; way++) {
      check_grip(surface[i], false, way);
      check_grip(surface[i], true, way);
    }
  }
}

static void grip_from_single_axle_stops(void **state) {
  (void)state;
  /* the procedure as a whole, on k of about 0.8 and below 0.3 (and what lies around them) */
  const enum bw_tyre_surface surface[] = {BW_TYRE_ASPHALT_DRY, BW_TYRE_ASPHALT_WET,
                                          BW_TYRE_COBBLES_WET, BW_TYRE_SNOW};
  for (size_t i = 0; i < 2 * sizeof surface / sizeof *surface; i++) {
    const enum bw_tyre_surface on = surface[i / 2];
    const bool is_laden = i % 2 == 1;
    struct bw_case *made = make_panic(on, 50.0 / 3.6);
    made->vehicle.load[BW_LOAD_UNLADEN].mass = mass_of(is_laden);
    make_antilock(made, BW_REGENERATION_CUT);
    struct stop stop;
    run(made, &TEST_FRICTION, &stop);
    const double rate = 30.0 / 3.6 / BW_GRAVITY / (stop.time[1] - stop.time[0]);
    const double grip = single_axle_grip(on, is_laden, rate);
    print_message("%s, %s: k_M %.3f, curve's peak %.3f, z_AL %.3f, epsilon %.2f (peak: %.2f)\n",
                  bw_tyre_surface_text(on), is_laden ? "laden" : "unladen", grip,
                  made->slip.tyre.peak, rate, rate / grip, rate / made->slip.tyre.peak);
    /* no stop passes the peak; at constant pressure a wheel comes close to it before it locks */
    CHECK_WITHIN(grip, 0.95 * made->slip.tyre.peak, made->slip.tyre.peak);
    /* rounded to two places, as that text does (App. 2) */
    CHECK_WITHIN(round(100.0 * rate / grip), 75.0, 100.0);
    free_case(made);
  }
}

/* what the last of the ways would do with the settings for exact speeds: the reason why sensors are
 * simulated at all */
static void late_sensors_need_other_settings(void **state) {
  (void)state;
  double time[2];
  for (int k = 0; k < 2; k++) {
    struct bw_case *made = make_panic(BW_TYRE_SNOW, 50.0 / 3.6);
    make_antilock(made, BW_REGENERATION_CUT);
    make_sensing(made, SENSORS, 1);
    if (k == 0) {
      made->slip.antilock.release = 8e7;
      made->slip.antilock.lead = 0.015;
    }
    struct stop stop;
    run(made, &TEST_FRICTION, &stop);
    time[k] = stop.time[1] - stop.time[0];
    free_case(made);
  }
  assert_true(time[0] > 1.25 * time[1]);
}

/* the valve's three commands in order: slip above 0.14 releases at 800 bar/s, slip between 0.07 and
 * 0.14 holds the pressure to the last bit, slip below 0.07 builds at 200 bar/s, all closed forms;
 * and nothing holds before an intervention began */
static void valve_holds_between_release_and_build(void **state) {
  (void)state;
  struct bw_antilock setup = {.period = 0.005,
                              .slip_release = 0.14,
                              .slip_build = 0.07,
                              .build = 2e7,
                              .release = 8e7,
                              .off_speed = 2.0};
  struct bw_antilock_channel channel = {.valve = BW_ANTILOCK_OPEN};
  struct bw_antilock_view view = {.slip = 0.10, .speed = 20.0, .is_braked = true};
  const double driver = 9e6;
  double pressure = driver;
  bw_antilock_decide(&setup, &channel, &view);
  pressure = bw_antilock_pressure(&setup, &channel, pressure, driver, 0.005);
  CHECK_CLOSE(pressure, driver, 0.0);
  view.slip = 0.20;
  bw_antilock_decide(&setup, &channel, &view);
  pressure = bw_antilock_pressure(&setup, &channel, pressure, driver, 0.05);
  CHECK_CLOSE(pressure, driver - 8e7 * 0.05, 1e-6);
  const double released = pressure;
  view.slip = 0.10;
  for (int i = 0; i < 40; i++) {
    bw_antilock_decide(&setup, &channel, &view);
    assert_int_equal(channel.valve, BW_ANTILOCK_HOLD);
    pressure = bw_antilock_pressure(&setup, &channel, pressure, driver, 0.005);
    CHECK_CLOSE(pressure, released, 0.0);
  }
  view.slip = 0.03;
  bw_antilock_decide(&setup, &channel, &view);
  pressure = bw_antilock_pressure(&setup, &channel, pressure, driver, 0.05);
  CHECK_CLOSE(pressure, released + 2e7 * 0.05, 1e-6);
  /* the driver lets go: whatever the valve holds, no more than he gives */
  view.slip = 0.10;
  bw_antilock_decide(&setup, &channel, &view);
  CHECK_CLOSE(bw_antilock_pressure(&setup, &channel, pressure, 1e6, 0.005), 1e6, 0.0);
}

static void locks_without_it(void **state) {
  (void)state;
  struct bw_case *made = make_panic(BW_TYRE_SNOW, 50.0 / 3.6);
  struct stop stop;
  run(made, &TEST_FRICTION, &stop);
  assert_true(stop.locked > 3.0);
  CHECK_CLOSE(stop.antilock, 0.0, 0.0);
  free_case(made);
}

static void stays_out_of_an_ordinary_stop(void **state) {
  (void)state;
  struct bw_case *made = make_panic(BW_TYRE_ASPHALT_DRY, 25.0);
  make_stop(made, 25.0, 5.0, 30.0);
  struct stop plain;
  run(made, &TEST_FRICTION, &plain);
  make_antilock(made, BW_REGENERATION_CUT);
  struct stop guarded;
  run(made, &TEST_FRICTION, &guarded);
  CHECK_CLOSE(guarded.antilock, 0.0, 0.0);
  CHECK_CLOSE(guarded.way, plain.way, 0.0);
  free_case(made);
}

static void grip_step_down_is_met_without_locking(void **state) {
  (void)state;
  for (int way = 0; way < WAYS; way++) {
    /* k_H >= 0.5 and k_H/k_L >= 2, high to low: no lock (same source, 5.3.2) */
    struct bw_case *made = make_panic(BW_TYRE_ASPHALT_DRY, 25.0);
    make_antilock(made, BW_REGENERATION_CUT);
    make_sensing(made, way, 0);
    const double distance[2] = {0.0, 18.0};
    const double grip[2] = {0.8, 0.3};
    assert_int_equal(bw_surface_make(distance, grip, grip, 2, &made->slip.surface, NULL), BW_OK);
    struct stop stop;
    run(made, &TEST_FRICTION, &stop);
    print_message("%s: way %.1f m, locked %.3f s\n", WAY_TEXT[way], stop.way, stop.locked);
    /* brief periods are allowed (5.3.6); a wheel that is seen late locks longer */
    CHECK_WITHIN(stop.locked, 0.0, way == SENSORS ? 0.2 : 0.15);
    /* 0.75 of the grip of both parts at least, all of it at best */
    const double high = 25.0 * 25.0 - 2.0 * BW_GRAVITY * 0.8 * 18.0;
    const double best = 18.0 + high / (2.0 * BW_GRAVITY * 0.3);
    CHECK_WITHIN(stop.way, best, 1.5 * best);
    free_case(made);
  }
}

static void grip_step_up_is_taken(void **state) {
  (void)state;
  struct bw_case *made = make_panic(BW_TYRE_ASPHALT_DRY, 20.0);
  make_antilock(made, BW_REGENERATION_CUT);
  const double distance[2] = {0.0, 30.0};
  const double grip[2] = {0.2, 0.8};
  assert_int_equal(bw_surface_make(distance, grip, grip, 2, &made->slip.surface, NULL), BW_OK);
  struct stop stop;
  run(made, &TEST_FRICTION, &stop);
  const double after = 20.0 * 20.0 - 2.0 * BW_GRAVITY * 0.2 * 30.0;
  const double best = 30.0 + after / (2.0 * BW_GRAVITY * 0.8);
  CHECK_WITHIN(stop.way, best, 1.35 * best);
  free_case(made);
}

static void split_road_per_wheel_and_per_axle(void **state) {
  (void)state;
  double way[2 * WAYS];
  for (int k = 0; k < 2 * WAYS; k++) {
    struct bw_case *made = make_panic(BW_TYRE_ASPHALT_DRY, 50.0 / 3.6);
    make_antilock(made, BW_REGENERATION_CUT);
    make_sensing(made, k / 2, k);
    made->slip.antilock.is_per_wheel = k % 2 == 1;
    const double distance[1] = {0.0};
    const double left[1] = {0.8};
    const double right[1] = {0.2};
    assert_int_equal(bw_surface_make(distance, left, right, 1, &made->slip.surface, NULL), BW_OK);
    struct stop stop;
    run(made, &TEST_FRICTION, &stop);
    print_message("%s: way %.1f m, locked %.3f s\n", WAY_TEXT[k / 2], stop.way, stop.locked);
    CHECK_WITHIN(stop.locked, 0.0, 0.15);
    way[k] = stop.way;
    free_case(made);
  }
  const double v = 50.0 / 3.6;
  /* the worse wheel decides: about twice the low side; each for itself: the mean of both */
  const double high = v * v / (2.0 * BW_GRAVITY);
  for (int k = 0; k < 2 * WAYS; k += 2) {
    CHECK_WITHIN(way[k + 1], high / 0.5, 1.4 * high / 0.5);
    CHECK_WITHIN(way[k], high / 0.25, (k / 2 == SENSORS ? 1.5 : 1.3) * high / 0.2);
  }
}

static struct bw_case *make_regenerating(enum bw_regeneration_policy policy) {
  struct bw_case *made = make_panic(BW_TYRE_SNOW, 20.0);
  make_machine(made, BW_FRONT, 2000.0, 1e9);
  made->machine[BW_FRONT].inertia = 2.5;
  made->machine[BW_FRONT].lag = 0.01;
  made->machine[BW_FRONT].low_speed_zero = 1.0;
  made->machine[BW_FRONT].low_speed_full = 2.0;
  make_antilock(made, policy);
  make_stop(made, 20.0, 3.0, 60.0);
  return made;
}

static void policies_do_what_they_say(void **state) {
  (void)state;
  struct stop stop[5];
  for (int policy = 0; policy < 5; policy++) {
    struct bw_case *made = make_regenerating((enum bw_regeneration_policy)policy);
    run(made, &TEST_FILL, &stop[policy]);
    print_message("policy %d: way %.2f m, locked %.2f s, machine %.0f N m at first, then %.0f\n",
                  policy, stop[policy].way, stop[policy].locked, stop[policy].machine_first,
                  stop[policy].machine_late);
    assert_true(stop[policy].antilock > 0.3);
    free_case(made);
  }
  /* cut: gone within its lag; ramp-out: gone after 1440 N m at 4000 N m/s = 0.36 s */
  CHECK_WITHIN(stop[BW_REGENERATION_CUT].machine_late, 0.0, 1.0);
  CHECK_WITHIN(stop[BW_REGENERATION_RAMP_OUT].machine_late, 0.0, 300.0);
  CHECK_WITHIN(stop[BW_REGENERATION_FREEZE].machine_late, 100.0,
               stop[BW_REGENERATION_FREEZE].machine_first + 1e-6);
  /* 3 m/s2 by one axle on snow locks it; kept, or frozen at what locked it, nothing frees it */
  assert_true(stop[BW_REGENERATION_KEEP].locked > 3.0);
  assert_true(stop[BW_REGENERATION_FREEZE].locked > 3.0);
  CHECK_WITHIN(stop[BW_REGENERATION_CUT].locked, 0.0, 0.2);
  CHECK_WITHIN(stop[BW_REGENERATION_RAMP_OUT].locked, 0.0, 0.5);
  CHECK_WITHIN(stop[BW_REGENERATION_MODULATE].locked, 0.0, 0.5);
  assert_true(stop[BW_REGENERATION_MODULATE].machine_late > 100.0);
}

static void a_strategy_may_choose_the_policy(void **state) {
  (void)state;
  static const uint32_t flags[5] = {BW_BLEND_ANTILOCK_KEEP, BW_BLEND_ANTILOCK_CUT,
                                    BW_BLEND_ANTILOCK_RAMP_OUT, BW_BLEND_ANTILOCK_FREEZE,
                                    BW_BLEND_ANTILOCK_MODULATE};
  for (int policy = 0; policy < 5; policy++) {
    struct stop by_car;
    struct stop by_strategy;
    struct bw_case *made = make_regenerating((enum bw_regeneration_policy)policy);
    run(made, &TEST_FILL, &by_car);
    free_case(made);
    /* the car would do something else */
    made = make_regenerating((enum bw_regeneration_policy)((policy + 1) % 5));
    struct bw_blend_strategy chooser = TEST_FILL;
    chooser.flags = flags[policy];
    run(made, &chooser, &by_strategy);
    free_case(made);
    CHECK_CLOSE(by_strategy.way, by_car.way, 0.0);
    CHECK_CLOSE(by_strategy.machine_late, by_car.machine_late, 0.0);
    CHECK_CLOSE(by_strategy.locked, by_car.locked, 0.0);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(uses_three_quarters_of_the_grip),
      cmocka_unit_test(grip_from_single_axle_stops),
      cmocka_unit_test(late_sensors_need_other_settings),
      cmocka_unit_test(valve_holds_between_release_and_build),
      cmocka_unit_test(locks_without_it),
      cmocka_unit_test(stays_out_of_an_ordinary_stop),
      cmocka_unit_test(grip_step_down_is_met_without_locking),
      cmocka_unit_test(grip_step_up_is_taken),
      cmocka_unit_test(split_road_per_wheel_and_per_axle),
      cmocka_unit_test(policies_do_what_they_say),
      cmocka_unit_test(a_strategy_may_choose_the_policy),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
