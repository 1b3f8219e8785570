/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include <string.h>

/** One whole stop, simulated and solved anew as a continuous system by the GNU Scientific Library
 *  (odeiv2, Prince-Dormand 8(9), relative tolerance 1e-12):
 *
 *    m_eff dv/dt = -(T_m + T_f,front + T_f,rear)/r - f0 - f1 v - f2 v^2
 *    dT_m/dt = (u_m(t - dead time) - T_m)/lag
 *    dp_i/dt = clip((u_i(t - dead time) - p_i)/lag, -release, +build),  T_f,i = max(0, p_i - p0)
 * k_i
 *
 *  A controller decides every 10 ms from the speed of its own solution; its requests are held.
 *  The solver starts afresh wherever a delayed command jumps, so it never steps over one. */

enum { SPEED, WAY, MACHINE, FRONT, REAR, MACHINE_WORK, FRICTION_WORK, STATES };
enum { PERIODS = 4000 };

/* what is braked, and how */
struct stop {
  double speed;        /* m/s */
  double deceleration; /* m/s2, brake demand */
  double fade_from;    /* m/s */
  double fade_to;      /* m/s */
  double machine_dead_time;
  double machine_lag;
  double friction_dead_time;
  double friction_lag;
  double threshold; /* Pa */
  double build;     /* Pa/s */
};

/* the continuous system between two jumps */
struct system {
  const struct bw_case *made;
  double mass; /* kg, effective */
  double machine_command;
  double pressure_command[2];
};

/* what both ways of solving give */
struct solution {
  size_t n;
  double speed[PERIODS]; /* (n) m/s at the end of each period */
  double time;           /* s to rest */
  double way;            /* m to rest */
  double machine_work;   /* J */
  double friction_work;  /* J */
};

static int derivatives(double time, const double y[], double dydt[], void *context) {
  (void)time;
  const struct system *system = context;
  const struct bw_vehicle *vehicle = &system->made->vehicle;
  const double v = y[SPEED];
  double friction = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *brake = &system->made->brakes.axle[i];
    const double p = y[FRONT + i];
    const double wanted = (system->pressure_command[i] - p) / brake->lag;
    dydt[FRONT + i] = fmax(-brake->release, fmin(brake->build, wanted));
    friction += fmax(0.0, p - brake->threshold) * brake->per_pressure;
  }
  const double road = vehicle->road_f0 + v * (vehicle->road_f1 + v * vehicle->road_f2);
  const double radius = vehicle->tyre_radius;
  dydt[SPEED] = -((y[MACHINE] + friction) / radius + road) / system->mass;
  dydt[WAY] = v;
  dydt[MACHINE] = (system->machine_command - y[MACHINE]) / system->made->machine[BW_FRONT].lag;
  dydt[MACHINE_WORK] = y[MACHINE] * v / radius;
  dydt[FRICTION_WORK] = friction * v / radius;
  return GSL_SUCCESS;
}

/* the controller of TEST_FADE, written down a second time */
static void decide(const struct stop *stop, const struct bw_case *made, double mass, double speed,
                   double deceleration, double *machine, double pressure[2]) {
  const double demand = stop->deceleration * mass * made->vehicle.tyre_radius;
  const double ahead = speed - 0.5 * made->control_period * deceleration;
  const double share = (ahead - stop->fade_to) / (stop->fade_from - stop->fade_to);
  *machine = demand * fmin(1.0, fmax(0.0, share));
  const struct bw_friction *front = &made->brakes.axle[0];
  const struct bw_friction *rear = &made->brakes.axle[1];
  const double both = (demand - *machine) / (front->per_pressure + rear->per_pressure);
  pressure[0] = front->threshold + both;
  pressure[1] = rear->threshold + both;
}

struct reference {
  struct system system;
  gsl_odeiv2_system equations;
  gsl_odeiv2_driver *driver;
  double machine[PERIODS];
  double pressure[2][PERIODS];
};

/* integrate y over `span` s with the commands of the system held */
static void integrate(struct reference *reference, double span, double y[STATES]) {
  double time = 0.0;
  assert_int_equal(gsl_odeiv2_driver_reset(reference->driver), GSL_SUCCESS);
  assert_int_equal(gsl_odeiv2_driver_apply(reference->driver, &time, span, y), GSL_SUCCESS);
}

/* integrate up to the moment within `span` at which the car rests; returns it (s) */
static double integrate_to_rest(struct reference *reference, double span, double y[STATES]) {
  double low = 0.0;
  double high = span;
  double trial[STATES];
  for (int k = 0; k < 60; k++) {
    const double middle = 0.5 * (low + high);
    memcpy(trial, y, sizeof trial);
    integrate(reference, middle, trial);
    if (trial[SPEED] > 0.0) {
      low = middle;
    } else {
      high = middle;
    }
  }
  memcpy(y, trial, sizeof trial);
  return high;
}

/* command of `list` that acts `dead_time` later in period k, `late` s after its start */
static double delayed(const double *list, size_t k, double late, double dead_time, double period) {
  const double index = floor((double)k + (late - dead_time) / period + 1e-9);
  return index < 0.0 ? 0.0 : list[(size_t)index];
}

/* time within a period at which a delayed command jumps */
static double jump(double dead_time, double period) {
  const double rest = fmod(dead_time, period);
  return rest > period - 1e-9 ? 0.0 : rest;
}

static bool solve_period(struct reference *reference, const struct stop *stop, size_t k,
                         double y[STATES], struct solution *out) {
  const double period = reference->system.made->control_period;
  const double machine_jump = jump(stop->machine_dead_time, period);
  const double friction_jump = jump(stop->friction_dead_time, period);
  const double edge[4] = {0.0, fmin(machine_jump, friction_jump), fmax(machine_jump, friction_jump),
                          period};
  for (int i = 0; i < 3; i++) {
    const double span = edge[i + 1] - edge[i];
    if (span < 1e-12) {
      continue;
    }
    struct system *system = &reference->system;
    system->machine_command =
        delayed(reference->machine, k, edge[i], stop->machine_dead_time, period);
    for (int axle = 0; axle < 2; axle++) {
      system->pressure_command[axle] =
          delayed(reference->pressure[axle], k, edge[i], stop->friction_dead_time, period);
    }
    double before[STATES];
    memcpy(before, y, sizeof before);
    integrate(reference, span, y);
    if (y[SPEED] <= 0.0) {
      memcpy(y, before, sizeof before);
      out->time = (double)k * period + edge[i] + integrate_to_rest(reference, span, y);
      return true;
    }
  }
  return false;
}

static void solve_reference(const struct stop *stop, const struct bw_case *made,
                            struct solution *out) {
  static struct reference reference;
  const double radius = made->vehicle.tyre_radius;
  reference = (struct reference){.system = {.made = made}};
  reference.system.mass =
      made->vehicle.load[BW_LOAD_UNLADEN].mass +
      (made->vehicle.wheel_inertia[0] + made->vehicle.wheel_inertia[1]) / (radius * radius);
  reference.equations = (gsl_odeiv2_system){
      .function = derivatives, .dimension = STATES, .params = &reference.system};
  reference.driver = gsl_odeiv2_driver_alloc_y_new(&reference.equations, gsl_odeiv2_step_rk8pd,
                                                   1e-4, 1e-12, 1e-12);
  assert_non_null(reference.driver);
  double y[STATES] = {[SPEED] = stop->speed};
  double deceleration = 0.0;
  for (size_t k = 0; k < PERIODS; k++) {
    const double before = y[SPEED];
    double pressure[2];
    decide(stop, made, reference.system.mass, before, deceleration, &reference.machine[k],
           pressure);
    reference.pressure[0][k] = pressure[0];
    reference.pressure[1][k] = pressure[1];
    if (solve_period(&reference, stop, k, y, out)) {
      break;
    }
    deceleration = (before - y[SPEED]) / made->control_period;
    out->speed[k] = y[SPEED];
    out->n = k + 1;
  }
  gsl_odeiv2_driver_free(reference.driver);
  out->way = y[WAY];
  out->machine_work = y[MACHINE_WORK];
  out->friction_work = y[FRICTION_WORK];
}

static struct bw_case *make_plant(const struct stop *stop, size_t substeps) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->machine[BW_FRONT].dead_time = stop->machine_dead_time;
  made->machine[BW_FRONT].lag = stop->machine_lag;
  made->vehicle.wheel_inertia[0] = 1.9;
  made->vehicle.wheel_inertia[1] = 1.7;
  made->vehicle.road_f1 = 2.3;
  make_friction_delay(made, stop->friction_dead_time, stop->friction_lag);
  for (int i = 0; i < 2; i++) {
    made->brakes.axle[i].threshold = stop->threshold;
    made->brakes.axle[i].build = stop->build;
  }
  made->brakes.is_prefilled = true;
  make_steps(made, 0.01, substeps);
  make_stop(made, stop->speed, stop->deceleration, 40.0);
  return made;
}

static void simulate(const struct stop *stop, const struct bw_case *made, struct solution *out) {
  const double params[TEST_FADE_PARAMS] = {
      [TEST_FADE_FROM] = stop->fade_from, [TEST_FADE_TO] = stop->fade_to};
  struct test_record record = {0};
  record_run(made, &TEST_FADE, params, &record);
  out->n = record.n - 1;
  assert_true(out->n < PERIODS);
  for (size_t k = 0; k < out->n; k++) {
    out->speed[k] = record.rows[k].speed_end;
  }
  record_slowed(&record, 0.0, &out->time, &out->way);
  out->machine_work = record.machine_work;
  out->friction_work = record.friction_work;
  free_record(&record);
}

/* relative errors of the simulator */
struct errors {
  double speed; /* worst of all ticks, over the initial speed */
  double time;
  double way;
  double machine_work;
  double friction_work;
};

static struct errors compare(const struct stop *stop, size_t substeps) {
  static struct solution reference;
  static struct solution simulated;
  reference = simulated = (struct solution){0};
  struct bw_case *made = make_plant(stop, substeps);
  solve_reference(stop, made, &reference);
  simulate(stop, made, &simulated);
  assert_int_equal(reference.n, simulated.n);
  assert_true(reference.machine_work > 1e5 && reference.friction_work > 1e4);
  struct errors errors = {
      .time = simulated.time / reference.time - 1.0,
      .way = simulated.way / reference.way - 1.0,
      .machine_work = simulated.machine_work / reference.machine_work - 1.0,
      .friction_work = simulated.friction_work / reference.friction_work - 1.0,
  };
  for (size_t k = 0; k < reference.n; k++) {
    errors.speed = fmax(errors.speed, fabs(simulated.speed[k] - reference.speed[k]) / stop->speed);
  }
  print_message("step %g ms: speed %.2e, time %+.2e, way %+.2e, machine %+.2e, friction %+.2e\n",
                10.0 / (double)substeps, errors.speed, errors.time, errors.way, errors.machine_work,
                errors.friction_work);
  free_case(made);
  return errors;
}

/* from 93 km/h at 2.3 m/s2, the machine fading from 31 to 14 km/h; dead times that every step
 * used here divides, so that the error is smooth in the step */
static const struct stop SMOOTH = {.speed = 93.0 / 3.6,
                                   .deceleration = 2.3,
                                   .fade_from = 31.0 / 3.6,
                                   .fade_to = 14.0 / 3.6,
                                   .machine_dead_time = 0.010,
                                   .machine_lag = 0.017,
                                   .friction_dead_time = 0.030,
                                   .friction_lag = 0.083,
                                   .threshold = 0.0,
                                   .build = 1e15};

static void whole_stop_agrees(void **state) {
  (void)state;
  const struct errors errors = compare(&SMOOTH, 10);
  CHECK_WITHIN(errors.speed, 0.0, 1e-7);
  CHECK_CLOSE(errors.time, 0.0, 1e-6);
  CHECK_CLOSE(errors.way, 0.0, 1e-6);
  CHECK_CLOSE(errors.machine_work, 0.0, 1e-6);
  CHECK_CLOSE(errors.friction_work, 0.0, 1e-6);
}

static void error_falls_with_second_order(void **state) {
  (void)state;
  /* 10, 5 and 2.5 ms; finer ones meet the 1e-9 at which decaying actuators are set to target */
  const size_t substeps[3] = {1, 2, 4};
  struct errors errors[3];
  for (int i = 0; i < 3; i++) {
    errors[i] = compare(&SMOOTH, substeps[i]);
  }
  for (int i = 0; i < 2; i++) {
    const double speed = log2(errors[i].speed / errors[i + 1].speed);
    const double machine = log2(fabs(errors[i].machine_work / errors[i + 1].machine_work));
    const double friction = log2(fabs(errors[i].friction_work / errors[i + 1].friction_work));
    print_message("order: speed %.2f, machine work %.2f, friction work %.2f\n", speed, machine,
                  friction);
    CHECK_WITHIN(speed, 1.8, 2.2);
    CHECK_WITHIN(machine, 1.8, 2.2);
    CHECK_WITHIN(friction, 1.8, 2.2);
  }
}

static void odd_delays_threshold_and_rate_agree(void **state) {
  (void)state;
  /* dead times inside a sub-step, a threshold to cross and rates that bind: limiting the mean of
   * the two commands that meet in a sub-step once made this wrong by 1e-5 */
  struct stop odd = SMOOTH;
  odd.machine_dead_time = 0.01337;
  odd.friction_dead_time = 0.03071;
  odd.threshold = 0.9e5;
  odd.build = 4e5;
  const struct errors errors = compare(&odd, 10);
  CHECK_WITHIN(errors.speed, 0.0, 1e-6);
  CHECK_CLOSE(errors.time, 0.0, 1e-6);
  CHECK_CLOSE(errors.way, 0.0, 1e-6);
  CHECK_CLOSE(errors.machine_work, 0.0, 1e-6);
  CHECK_CLOSE(errors.friction_work, 0.0, 1e-6);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whole_stop_agrees),
      cmocka_unit_test(error_falls_with_second_order),
      cmocka_unit_test(odd_delays_threshold_and_rate_agree),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
