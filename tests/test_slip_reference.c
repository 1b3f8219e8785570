/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_slip.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include <string.h>

/** Three manoeuvres on wheels of their own, solved anew as one stiff system by the GNU Scientific
 *  Library (odeiv2, variable-order backward differences 'msbdf', tolerance 1e-12):
 *
 *    m dv/dt = -F_f - F_r,  F_i = N_i mu(s_i),  sigma ds_i/dt = v - r w_i - s_i max(v, r w_i)
 *    J dw_i/dt = r F_i - T_friction,i + T_shaft (front),  J_m dw_m/dt = -T_machine - T_shaft
 *    dphi/dt = w_m - w_f,  T_shaft = k wound(phi) + c dphi/dt,  da_f/dt = (-dv/dt - a_f)/pitch lag
 *
 *  and actuators of first order behind their dead times. Requests depend on the demand alone, so
 *  commands are known inputs; the solver starts afresh at every control period, and where flanks
 *  of the lash meet or part. How far the reference itself may be off is printed: the difference to
 *  a solution with a hundred times the tolerance. */

enum {
  SPEED,
  WAY,
  OMEGA,    /* two */
  SLIP = 4, /* two */
  MACHINE = 6,
  PRESSURE, /* two */
  TWIST = 9,
  ROTOR,
  TRANSFER,
  FRICTION_WORK,
  STATES
};

enum { PERIODS = 400 };

struct system {
  const struct bw_case *made;
  double machine_command;
  double pressure_command[2];
};

/* what both ways of solving give */
struct solution {
  size_t n;
  double speed[PERIODS];
  double way;
  double friction_work;
  double rotor; /* rad/s at the end */
};

static void axle_forces(const struct bw_case *made, const double y[], double force[2]) {
  double load[2];
  bw_vehicle_axle_loads(&made->vehicle, 0.0, y[TRANSFER], load);
  for (int i = 0; i < 2; i++) {
    double slope = 0.0;
    const double grip = made->vehicle.adhesion / made->slip.tyre.peak;
    force[i] = load[i] * bw_tyre_friction(&made->slip.tyre, grip, y[SLIP + i], &slope);
  }
}

static int derivatives(double time, const double y[], double dydt[], void *context) {
  (void)time;
  const struct system *system = context;
  const struct bw_case *made = system->made;
  const struct bw_driveline *line = &made->slip.driveline[BW_FRONT];
  const double radius = made->vehicle.tyre_radius;
  const struct bw_machine *machine = &made->machine[BW_FRONT];
  double force[2];
  axle_forces(made, y, force);
  const double winding = y[ROTOR] - y[OMEGA];
  const double wound = bw_driveline_wound(line, y[TWIST]);
  const double shaft =
      line->stiffness * wound + (fabs(wound) > 0.0 ? line->damping * winding : 0.0);
  dydt[SPEED] = -(force[0] + force[1]) / made->vehicle.load[BW_LOAD_UNLADEN].mass;
  dydt[WAY] = y[SPEED];
  dydt[FRICTION_WORK] = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *brake = &made->brakes.axle[i];
    const double rubbing = fmax(0.0, y[PRESSURE + i]) * brake->per_pressure;
    const double rim = radius * y[OMEGA + i];
    dydt[PRESSURE + i] = (system->pressure_command[i] - y[PRESSURE + i]) / brake->lag;
    dydt[OMEGA + i] = (radius * force[i] - rubbing + (i == BW_FRONT ? shaft : 0.0)) /
                      made->vehicle.wheel_inertia[i];
    dydt[SLIP + i] =
        (y[SPEED] - rim - y[SLIP + i] * fmax(y[SPEED], rim)) / made->slip.tyre.relaxation;
    dydt[FRICTION_WORK] += rubbing * y[OMEGA + i];
  }
  dydt[MACHINE] = (system->machine_command - y[MACHINE]) / machine->lag;
  dydt[TWIST] = winding;
  dydt[ROTOR] = (-y[MACHINE] - shaft) / machine->inertia;
  dydt[TRANSFER] = (-dydt[SPEED] - y[TRANSFER]) / made->slip.pitch_lag;
  return GSL_SUCCESS;
}

/* central differences: the solver's Newton steps need no more */
static int jacobian(double time, const double y[], double *dfdy, double dfdt[], void *context) {
  double ahead[STATES];
  double behind[STATES];
  double point[STATES];
  memcpy(point, y, sizeof point);
  for (int j = 0; j < STATES; j++) {
    const double h = 1e-6 * fmax(fabs(y[j]), 1e-2);
    point[j] = y[j] + h;
    (void)derivatives(time, point, ahead, context);
    point[j] = y[j] - h;
    (void)derivatives(time, point, behind, context);
    point[j] = y[j];
    for (int i = 0; i < STATES; i++) {
      dfdy[i * STATES + j] = (ahead[i] - behind[i]) / (2.0 * h);
    }
    dfdt[j] = 0.0;
  }
  return GSL_SUCCESS;
}

/* demand of TEST_SIXTY: six tenths to the machine, the rest to the brakes at one pressure */
static void decide(const struct bw_case *made, struct bw_trace_cursor *cursor, size_t k,
                   double *machine, double *pressure) {
  double deceleration = 0.0;
  double unused = 0.0;
  const double middle = ((double)k + 0.5) * made->control_period;
  bw_trace_at(&made->trace, cursor, middle, &deceleration, &unused);
  const double demand = deceleration * bw_case_effective_mass(made) * made->vehicle.tyre_radius;
  const double per_pressure = made->brakes.axle[0].per_pressure + made->brakes.axle[1].per_pressure;
  *machine = 0.6 * demand;
  *pressure = 0.4 * demand / per_pressure;
}

/* -1, 0, 1: which flank of the lash touches */
static int flank(const struct bw_case *made, const double y[]) {
  const double wound = bw_driveline_wound(&made->slip.driveline[BW_FRONT], y[TWIST]);
  return (wound > 0.0) - (wound < 0.0);
}

/* start afresh and go on by `duration` s */
static void apply(gsl_odeiv2_driver *driver, double duration, double y[]) {
  double time = 0.0;
  assert_int_equal(gsl_odeiv2_driver_reset(driver), GSL_SUCCESS);
  assert_int_equal(gsl_odeiv2_driver_reset_hstart(driver, 1e-6), GSL_SUCCESS);
  assert_int_equal(gsl_odeiv2_driver_apply(driver, &time, duration, y), GSL_SUCCESS);
}

/* one control period; in pieces of half a millisecond where there is lash, each halved down to
 * the moment (within 1e-10 s) at which flanks meet or part. Returns how many did. */
static int advance(const struct bw_case *made, gsl_odeiv2_driver *driver, double y[]) {
  if (!(made->slip.driveline[BW_FRONT].lash > 0.0)) {
    apply(driver, made->control_period, y);
    return 0;
  }
  int events = 0;
  double left = made->control_period;
  while (left > 1e-12) {
    const int before = flank(made, y);
    double low = 0.0;
    double high = fmin(left, 5e-4);
    double end[STATES];
    memcpy(end, y, sizeof end);
    apply(driver, high, end);
    const bool is_event = flank(made, end) != before;
    while (is_event && high - low > 1e-10) {
      double trial[STATES];
      const double middle = 0.5 * (low + high);
      memcpy(trial, y, sizeof trial);
      apply(driver, middle, trial);
      if (flank(made, trial) == before) {
        low = middle;
      } else {
        high = middle;
        memcpy(end, trial, sizeof end);
      }
    }
    memcpy(y, end, sizeof end);
    left -= high;
    events += is_event ? 1 : 0;
  }
  return events;
}

static int solve(const struct bw_case *made, size_t periods, double tolerance,
                 struct solution *out) {
  struct system system = {.made = made};
  const gsl_odeiv2_system equations = {derivatives, jacobian, STATES, &system};
  gsl_odeiv2_driver *driver =
      gsl_odeiv2_driver_alloc_y_new(&equations, gsl_odeiv2_step_msbdf, 1e-6, tolerance, tolerance);
  int events = 0;
  assert_non_null(driver);
  double machine[PERIODS];
  double pressure[PERIODS];
  double y[STATES] = {[SPEED] = made->driver.initial_speed};
  y[OMEGA] = y[OMEGA + 1] = y[ROTOR] = y[SPEED] / made->vehicle.tyre_radius;
  struct bw_trace_cursor cursor = {0};
  const size_t machine_late =
      (size_t)lround(made->machine[BW_FRONT].dead_time / made->control_period);
  const size_t friction_late =
      (size_t)lround(made->brakes.axle[0].dead_time / made->control_period);
  for (size_t k = 0; k < periods; k++) {
    decide(made, &cursor, k, &machine[k], &pressure[k]);
    system.machine_command = k >= machine_late ? machine[k - machine_late] : 0.0;
    system.pressure_command[0] = k >= friction_late ? pressure[k - friction_late] : 0.0;
    system.pressure_command[1] = system.pressure_command[0];
    events += advance(made, driver, y);
    out->speed[k] = y[SPEED];
  }
  gsl_odeiv2_driver_free(driver);
  out->n = periods;
  out->way = y[WAY];
  out->friction_work = y[FRICTION_WORK];
  out->rotor = y[ROTOR];
  return events;
}

static enum bw_status keep(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct solution *out = context;
  assert_true(out->n < PERIODS);
  out->speed[out->n++] = sample->speed_end;
  out->way += sample->distance;
  out->friction_work += sample->axle[0].friction_work + sample->axle[1].friction_work;
  return BW_OK;
}

/* what is driven */
struct manoeuvre {
  enum bw_tyre_surface surface;
  double speed;
  double lash; /* rad */
  size_t n;
  double time[6];
  double deceleration[6];
};

static struct bw_case *make_plant(const struct manoeuvre *manoeuvre, double step,
                                  double slip_step) {
  struct bw_case *made = make_slip_case(manoeuvre->surface);
  make_friction_delay(made, 0.03, 0.07);
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->machine[BW_FRONT].inertia = 2.9;
  made->machine[BW_FRONT].lag = 0.015;
  made->machine[BW_FRONT].dead_time = 0.01;
  made->slip.driveline[BW_FRONT] = (struct bw_driveline){9e3, 30.0, manoeuvre->lash};
  made->slip.tyre.relaxation = 0.15;
  made->slip.pitch_lag = 0.12;
  made->slip.step = slip_step;
  made->step = step;
  made->driver.initial_speed = manoeuvre->speed;
  make_trace(made, BW_TRACE_DECEL, manoeuvre->time, manoeuvre->deceleration, manoeuvre->n);
  return made;
}

struct errors {
  double bound; /* m/s, of the reference itself */
  double speed;
  double way;
  double friction_work;
};

static struct errors compare(const struct manoeuvre *manoeuvre, double step, double slip_step) {
  struct bw_case *made = make_plant(manoeuvre, step, slip_step);
  static struct solution reference;
  static struct solution simulated;
  static struct solution coarse;
  simulated = reference = coarse = (struct solution){0};
  const struct bw_observer observer = {.context = &simulated, .watch = keep};
  assert_int_equal(bw_run(made, &TEST_SIXTY, NULL, &observer, 1, NULL), BW_OK);
  const int events = solve(made, simulated.n, 1e-12, &reference);
  (void)solve(made, simulated.n, 1e-10, &coarse);
  assert_true(manoeuvre->lash > 0.0 ? events >= 2 : events == 0);
  struct errors errors = {
      .way = simulated.way / reference.way - 1.0,
      .friction_work = simulated.friction_work / reference.friction_work - 1.0,
  };
  for (size_t k = 0; k < reference.n; k++) {
    errors.speed = fmax(errors.speed, fabs(simulated.speed[k] - reference.speed[k]));
    errors.bound = fmax(errors.bound, fabs(coarse.speed[k] - reference.speed[k]));
  }
  assert_true(reference.friction_work > 1e3 && simulated.n > 100);
  print_message("step %g us, wheels %g us: speed %.2e m/s, way %+.2e, friction work %+.2e; "
                "reference within %.1e m/s, %d meetings and partings of flanks\n",
                1e6 * step, 1e6 * slip_step, errors.speed, errors.way, errors.friction_work,
                errors.bound, events);
  /* a reference is one only if it is far better than what it judges */
  CHECK_WITHIN(errors.bound, 0.0, 0.1 * errors.speed);
  free_case(made);
  return errors;
}

static const struct manoeuvre FIRM = {.surface = BW_TYRE_ASPHALT_DRY,
                                      .speed = 30.0,
                                      .n = 3,
                                      .time = {0.0, 0.4, 3.0},
                                      .deceleration = {0.0, 6.0, 6.0}};
static const struct manoeuvre SNOW = {.surface = BW_TYRE_SNOW,
                                      .speed = 15.0,
                                      .n = 3,
                                      .time = {0.0, 1.0, 3.0},
                                      .deceleration = {0.0, 0.8, 0.8}};
static const struct manoeuvre TIP = {.surface = BW_TYRE_ASPHALT_WET,
                                     .speed = 22.0,
                                     .lash = 0.02,
                                     .n = 5,
                                     .time = {0.0, 0.15, 1.5, 1.65, 2.5},
                                     .deceleration = {0.0, 2.5, 2.5, 0.0, 0.0}};

static void firm_stop_agrees(void **state) {
  (void)state;
  const struct errors errors = compare(&FIRM, 1e-3, 1e-4);
  CHECK_WITHIN(errors.speed, 0.0, 5e-6);
  CHECK_CLOSE(errors.way, 0.0, 2e-7);
  CHECK_CLOSE(errors.friction_work, 0.0, 5e-7);
}

static void snow_stop_agrees(void **state) {
  (void)state;
  const struct errors errors = compare(&SNOW, 1e-3, 1e-4);
  CHECK_WITHIN(errors.speed, 0.0, 5e-6);
  CHECK_CLOSE(errors.way, 0.0, 2e-7);
  CHECK_CLOSE(errors.friction_work, 0.0, 5e-7);
}

static void tip_in_and_out_across_the_lash_agrees(void **state) {
  (void)state;
  const struct errors errors = compare(&TIP, 1e-3, 1e-4);
  /* flanks part and meet inside a step */
  CHECK_WITHIN(errors.speed, 0.0, 2e-5);
  CHECK_CLOSE(errors.way, 0.0, 1e-6);
  CHECK_CLOSE(errors.friction_work, 0.0, 1e-6);
}

static void error_falls_with_second_order(void **state) {
  (void)state;
  struct errors errors[3];
  for (int i = 0; i < 3; i++) {
    const double step = 2e-3 / (double)(1 << i);
    errors[i] = compare(&FIRM, step, 0.25 * step);
  }
  for (int i = 0; i < 2; i++) {
    CHECK_WITHIN(log2(errors[i].speed / errors[i + 1].speed), 1.7, 2.3);
  }
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(firm_stop_agrees),
      cmocka_unit_test(snow_stop_agrees),
      cmocka_unit_test(tip_in_and_out_across_the_lash_agrees),
      cmocka_unit_test(error_falls_with_second_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
