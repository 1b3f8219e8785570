/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"
#include "make_pack.h"
#include "model/friction.h"
#include "reference.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

/** Parts of the numerical core against solvers of the GNU Scientific Library; whole stops against
 *  them are in test_reference_ode.c and test_slip_reference.c. */

static const struct reference_origin GSL = {
    "GNU Scientific Library odeiv2, Prince-Dormand 8(9), 1e-12", MARK_DERIVED};

struct disc {
  const struct bw_friction *friction;
  double power;
  double speed;
  double ambient;
};

static int warm(double time, const double y[], double dydt[], void *context) {
  (void)time;
  const struct disc *disc = context;
  const struct bw_friction *f = disc->friction;
  const double linear = (f->cooling + f->cooling_speed * disc->speed) * (y[0] - disc->ambient);
  const double radiated =
      5.670374419e-8 * f->radiating_area * (pow(y[0], 4.0) - pow(disc->ambient, 4.0));
  dydt[0] = (f->heat_share * disc->power - linear - radiated) / f->heat_capacity;
  return GSL_SUCCESS;
}

static void solve(gsl_odeiv2_system *system, double span, double *y) {
  gsl_odeiv2_driver *driver =
      gsl_odeiv2_driver_alloc_y_new(system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-12, 1e-12);
  assert_non_null(driver);
  double time = 0.0;
  assert_int_equal(gsl_odeiv2_driver_apply(driver, &time, span, y), GSL_SUCCESS);
  gsl_odeiv2_driver_free(driver);
}

/* a rotor that heats, cools in the wind and radiates: 40 s in control periods of 10 ms */
static void rotor(struct reference_list *list) {
  const struct bw_friction friction = {.heat_capacity = 6000.0,
                                       .cooling = 10.0,
                                       .cooling_speed = 2.0,
                                       .radiating_area = 0.2,
                                       .heat_share = 0.9};
  struct disc disc = {&friction, 37e3, 17.0, 293.15};
  double exact = 293.15;
  gsl_odeiv2_system system = {warm, NULL, 1, &disc};
  solve(&system, 40.0, &exact);
  double ours = 293.15;
  for (int i = 0; i < 4000; i++) {
    ours = bw_friction_heat(&friction, ours, disc.power, disc.speed, disc.ambient, 0.01);
  }
  reference_add(list, "rotor", "K", GSL, (struct reference_pair){exact, ours, 1e-4 * exact},
                "rotor after 40 s of 37 kW, with wind and radiation");
  reference_explain(list, "radiation is taken at the start of a period");
}

struct cell {
  double power;
  double resistance;
  double rc_resistance;
  double rc_time;
  double capacity;
};

/* charge and RC voltage at constant terminal power, OCV 300 + 100 soc */
static int charging(double time, const double y[], double dydt[], void *context) {
  (void)time;
  const struct cell *cell = context;
  const double u = 300.0 + 100.0 * y[0] + y[1];
  const double current =
      2.0 * cell->power / (u + sqrt(u * u + 4.0 * cell->resistance * cell->power));
  dydt[0] = current / cell->capacity;
  dydt[1] = (cell->rc_resistance * current - y[1]) / cell->rc_time;
  return GSL_SUCCESS;
}

static void battery(struct reference_list *list) {
  struct cell cell = {31e3, 0.11, 0.07, 13.0, 60.0 * 3600.0};
  double y[2] = {0.5, 0.0};
  gsl_odeiv2_system system = {charging, NULL, 2, &cell};
  solve(&system, 60.0, y);
  struct bw_battery pack = {.capacity = cell.capacity,
                            .start_charge = 0.5,
                            .temperature = 293.15,
                            .voltage_max = 500.0,
                            .voltage_min = 100.0,
                            .rc_resistance = cell.rc_resistance,
                            .rc_time = cell.rc_time,
                            .charge_continuous = make_constant(1e6),
                            .charge_pulse = make_constant(1e6),
                            .pulse_time = 10.0,
                            .discharge_current_max = 1e6};
  const double charge[2] = {0.0, 1.0};
  const double voltage[2] = {300.0, 400.0};
  const double here = 293.15;
  const double half = 0.5;
  assert_int_equal(bw_table1_make(charge, voltage, 2, &pack.ocv, NULL), BW_OK);
  assert_int_equal(bw_table2_make(&here, 1, &half, 1, &cell.resistance, &pack.resistance, NULL),
                   BW_OK);
  struct bw_battery_state state = bw_battery_start(&pack);
  for (int i = 0; i < 6000; i++) {
    struct bw_battery_step step;
    assert_int_equal(bw_battery_advance(&pack, &state, cell.power, 0.01, &step), BW_OK);
  }
  reference_add(list, "battery", "%", GSL,
                (struct reference_pair){100.0 * y[0], 100.0 * state.charge, 1e-5},
                "state of charge after 60 s of 31 kW");
  reference_add(list, "battery", "V", GSL, (struct reference_pair){y[1], state.rc_voltage, 1e-4},
                "the same, voltage of the RC pair");
}

struct car {
  double mass;
  const struct bw_vehicle *vehicle;
};

static int coasting(double time, const double y[], double dydt[], void *context) {
  (void)time;
  const struct car *car = context;
  dydt[0] =
      -(car->vehicle->road_f0 + y[0] * (car->vehicle->road_f1 + y[0] * car->vehicle->road_f2)) /
      car->mass;
  dydt[1] = y[0];
  return GSL_SUCCESS;
}

static void coast(struct reference_list *list) {
  struct bw_case *made = make_case();
  made->vehicle.road_f1 = 4.7;
  make_stop(made, 31.0, 0.0, 50.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  double y[2] = {31.0, 0.0};
  struct car car = {1500.0, &made->vehicle};
  gsl_odeiv2_system system = {coasting, NULL, 2, &car};
  solve(&system, 50.0, y);
  reference_add(list, "coast", "m/s", GSL,
                (struct reference_pair){y[0], record.last.speed_end, 1e-6 * y[0]},
                "speed after 50 s of coasting from 31 m/s");
  reference_add(list, "coast", "m", GSL,
                (struct reference_pair){y[1], record.rows[record.n - 1].distance, 1e-6 * y[1]},
                "the same, distance");
  free_record(&record);
  free_case(made);
}

void reference_solvers(struct reference_list *list) {
  coast(list);
  rotor(list);
  battery(list);
}
