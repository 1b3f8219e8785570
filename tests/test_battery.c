/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "make_pack.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

static struct bw_battery_limits limits_at(const struct bw_battery *battery, double charge,
                                          double rc_voltage) {
  struct bw_battery_state state = bw_battery_start(battery);
  state.charge = charge;
  state.rc_voltage = rc_voltage;
  struct bw_battery_limits limits;
  bw_battery_limits(battery, &state, &limits);
  return limits;
}

/* BAT-5, values derived, formula of the hybrid pulse power tests from memory: one cell with 30 mohm
 * (assumed) under a 4.2 V ceiling */
static void charge_power_under_a_voltage_ceiling(void **state) {
  (void)state;
  const struct bw_battery cell = make_pack(1.0, 1.0, 0.030);
  static const double rows[][3] = {{0.50, 14.97, 62.9},
                                   {0.80, 5.26, 22.1},
                                   {0.90, 3.44, 14.5},
                                   {0.95, 2.55, 10.7},
                                   {1.00, 0.0, 0.0}};
  for (size_t i = 0; i < 5; i++) {
    const struct bw_battery_limits limits = limits_at(&cell, rows[i][0], 0.0);
    CHECK_CLOSE(limits.charge_current, rows[i][1], 0.0051);
    CHECK_CLOSE(limits.charge_power, rows[i][2], 0.051);
    assert_int_equal(limits.binding, BW_LIMIT_CHARGE_VOLTAGE);
  }
}

/* BAT-6, derived: 2.8 times less at 80 % and 5.9 times less at 95 % than at 50 %; twice the
 * resistance halves it everywhere */
static void charge_power_ratios(void **state) {
  (void)state;
  const struct bw_battery cell = make_pack(1.0, 1.0, 0.030);
  const struct bw_battery cold = make_pack(1.0, 1.0, 0.060);
  const double half = limits_at(&cell, 0.5, 0.0).charge_power;
  CHECK_CLOSE(half / limits_at(&cell, 0.8, 0.0).charge_power, 2.8, 0.051);
  CHECK_CLOSE(half / limits_at(&cell, 0.95, 0.0).charge_power, 5.9, 0.051);
  for (int i = 1; i < 20; i++) {
    const double charge = 0.05 * i;
    CHECK_RELATIVE(limits_at(&cold, charge, 0.0).charge_power,
                   0.5 * limits_at(&cell, charge, 0.0).charge_power, 1e-12);
  }
}

/* in the last second before full or empty, and beyond the voltage ceiling, currents end at zero */
static void limits_end_at_full_and_empty(void **state) {
  (void)state;
  struct bw_battery cell = make_pack(1.0, 1.0, 0.030);
  cell.voltage_max = 4.5;
  const double rest = 1e-5;
  const struct bw_battery_limits full = limits_at(&cell, 1.0 - rest, 0.0);
  CHECK_RELATIVE(full.charge_current, rest * cell.capacity, 1e-9);
  CHECK_CLOSE(limits_at(&cell, 1.0, 0.0).charge_current, 0.0, 0.0);
  CHECK_CLOSE(limits_at(&cell, 0.5, 0.9).charge_power, 0.0, 0.0);
  CHECK_CLOSE(limits_at(&cell, 0.0, 0.0).discharge_power, 0.0, 0.0);
  CHECK_CLOSE(limits_at(&cell, 0.5, -2.0).discharge_power, 0.0, 0.0);
  cell.voltage_max = 4.2;
  cell.resistance.z[0] = 0.0; /* an ideal cell above its ceiling takes nothing, below gives none */
  CHECK_CLOSE(limits_at(&cell, 0.5, -2.0).discharge_power, 0.0, 0.0);
  CHECK_CLOSE(limits_at(&cell, 0.5, 0.9).charge_power, 0.0, 0.0);
  assert_int_equal(limits_at(&cell, 0.5, 0.9).binding, BW_LIMIT_CHARGE_VOLTAGE);
}

static void discharge_power_respects_all_three(void **state) {
  (void)state;
  struct bw_battery cell = make_pack(1.0, 1.0, 0.030);
  /* voltage: (3.7509 - 2.5) / 0.03 at 2.5 V */
  CHECK_RELATIVE(limits_at(&cell, 0.5, 0.0).discharge_power, 2.5 * (3.7509 - 2.5) / 0.03, 1e-12);
  cell.discharge_current_max = 20.0;
  CHECK_RELATIVE(limits_at(&cell, 0.5, 0.0).discharge_power, 20.0 * (3.7509 - 0.6), 1e-12);
  cell.discharge_current_max = 1e6;
  cell.voltage_min = 0.0;
  const double power = limits_at(&cell, 0.5, 0.0).discharge_power;
  /* the greatest power a source can give is U^2 / (4 R) */
  CHECK_WITHIN(power / (3.7509 * 3.7509 / 0.12), 0.98, 0.9999);
  struct bw_battery_state now = bw_battery_start(&cell);
  struct bw_battery_step step;
  assert_int_equal(bw_battery_advance(&cell, &now, -power, 0.01, &step), BW_OK);
}

/* formulas of the pulse budget, by hand: W = (70^2 - 40^2) 10 = 33e3 A2 s */
static void pulse_budget_empties_and_fills(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  battery.charge_continuous = make_constant(40.0);
  battery.charge_pulse = make_constant(70.0);
  struct bw_battery_state now = bw_battery_start(&battery);
  CHECK_CLOSE(now.pulse_budget, 33e3, 0.0);
  struct bw_battery_limits limits;
  bw_battery_limits(&battery, &now, &limits);
  CHECK_CLOSE(limits.charge_current, 70.0, 0.0);
  CHECK_CLOSE(limits.pulse_left, 10.0, 1e-12);
  assert_int_equal(limits.binding, BW_LIMIT_CHARGE_CURRENT);

  struct bw_battery_step step;
  assert_int_equal(bw_battery_advance(&battery, &now, limits.charge_power, 1.0, &step), BW_OK);
  CHECK_CLOSE(now.pulse_budget, 33e3 + 1600.0 - step.current * step.current, 1e-9);
  now.pulse_budget = 3.3e3; /* half of the fading fifth */
  bw_battery_limits(&battery, &now, &limits);
  CHECK_RELATIVE(limits.charge_current, 55.0, 1e-12);
  CHECK_RELATIVE(limits.pulse_left, 1.0, 1e-12);
  now.pulse_budget = 0.0;
  bw_battery_limits(&battery, &now, &limits);
  CHECK_CLOSE(limits.charge_current, 40.0, 0.0);

  /* discharging refills at I_c^2 however great the current */
  assert_int_equal(bw_battery_advance(&battery, &now, -50e3, 1.0, &step), BW_OK);
  CHECK_CLOSE(now.pulse_budget, 1600.0, 1e-9);
  assert_int_equal(bw_battery_advance(&battery, &now, 0.0, 100.0, &step), BW_OK);
  CHECK_CLOSE(now.pulse_budget, 33e3, 0.0);
  assert_int_equal(bw_battery_advance(&battery, &now, 40e3, 60.0, &step), BW_OK);
  CHECK_CLOSE(now.pulse_budget, 0.0, 0.0);

  battery.charge_pulse = make_constant(40.0);
  now = bw_battery_start(&battery);
  bw_battery_limits(&battery, &now, &limits);
  CHECK_CLOSE(limits.charge_current, 40.0, 0.0);
  CHECK_CLOSE(limits.pulse_left, battery.pulse_time, 0.0);
}

/* a limit obeyed for one period keeps the ceiling to within what U moves in that period */
static void charging_at_the_limit_keeps_the_ceiling(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  battery.rc_resistance = 0.03;
  battery.rc_time = 12.0;
  battery.start_charge = 0.93;
  struct bw_battery_state now = bw_battery_start(&battery);
  for (int i = 0; i < 200000; i++) {
    struct bw_battery_limits limits;
    struct bw_battery_step step;
    bw_battery_limits(&battery, &now, &limits);
    assert_int_equal(bw_battery_advance(&battery, &now, limits.charge_power, 0.01, &step), BW_OK);
    CHECK_WITHIN(step.voltage, 0.0, battery.voltage_max * (1.0 + 1e-5));
  }
  CHECK_WITHIN(now.charge, 0.98, 1.0);
}

struct constant_power {
  const struct bw_battery *battery;
  double power;
};

/* the continuous model, straight from the header: y = (charge, U_rc, work into the cells) */
static int derivatives(double t, const double y[], double dydt[], void *context) {
  (void)t;
  const struct constant_power *at = context;
  const struct bw_battery *battery = at->battery;
  const double ocv = bw_table1_at(&battery->ocv, y[0]);
  const double resistance = bw_table2_at(&battery->resistance, battery->temperature, y[0]);
  const double voltage = ocv + y[1];
  const double current =
      2.0 * at->power / (voltage + sqrt(voltage * voltage + 4.0 * resistance * at->power));
  dydt[0] = current / battery->capacity;
  dydt[1] = (battery->rc_resistance * current - y[1]) / battery->rc_time;
  dydt[2] = ocv * current;
  return GSL_SUCCESS;
}

static void reference_solution(const struct bw_battery *battery, double power, double duration,
                               double y[3]) {
  struct constant_power at = {battery, power};
  gsl_odeiv2_system system = {derivatives, NULL, 3, &at};
  gsl_odeiv2_driver *driver =
      gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-2, 1e-13, 1e-13);
  double t = 0.0;
  assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, duration, y), GSL_SUCCESS);
  gsl_odeiv2_driver_free(driver);
}

static double stepped_error(const struct bw_battery *battery, double power, double h, int steps,
                            const double wanted[3]) {
  struct bw_battery_state now = bw_battery_start(battery);
  double cells = 0.0;
  for (int i = 0; i < steps; i++) {
    struct bw_battery_step step;
    assert_int_equal(bw_battery_advance(battery, &now, power, h, &step), BW_OK);
    cells += step.cells;
  }
  CHECK_CLOSE(now.charge, wanted[0], 1e-6);
  CHECK_RELATIVE(cells, wanted[2], 1e-4);
  return fabs(now.rc_voltage - wanted[1]);
}

/* reference: GSL 2.7, gsl_odeiv2 rk8pd on the continuous model at constant power; a constant
 * current per step is a second-order method */
static void steps_follow_the_continuous_model(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  battery.rc_resistance = 0.05;
  battery.rc_time = 7.3;
  battery.start_charge = 0.523; /* within one straight piece of the table: no kinks for GSL */
  static const double powers[] = {61.3e3, -88.1e3};
  for (size_t i = 0; i < 2; i++) {
    double wanted[3] = {battery.start_charge, 0.0, 0.0};
    reference_solution(&battery, powers[i], 64.0, wanted);
    const double coarse = stepped_error(&battery, powers[i], 2.0, 32, wanted);
    const double fine = stepped_error(&battery, powers[i], 1.0, 64, wanted);
    const double finest = stepped_error(&battery, powers[i], 0.5, 128, wanted);
    CHECK_WITHIN(coarse / fine, 3.6, 4.4);
    CHECK_WITHIN(fine / finest, 3.6, 4.4);
    CHECK_CLOSE(stepped_error(&battery, powers[i], 0.01, 6400, wanted), 0.0, 1e-6);
  }
}

static void give_everything(struct bw_battery *battery) {
  battery->rc_resistance = 0.05;
  battery->rc_time = 7.3;
  const double temperature[2] = {263.15, 313.15};
  const double charge[3] = {0.0, 0.4, 1.0};
  const double ohm[6] = {0.31, 0.19, 0.23, 0.11, 0.07, 0.09};
  assert_int_equal(bw_table2_make(temperature, 2, charge, 3, ohm, &battery->resistance, NULL),
                   BW_OK);
}

/* terminals = cells + rc + resistance, also where a step crosses points of the OCV table */
static void energy_closes(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  give_everything(&battery);
  static const double durations[] = {0.001, 0.01, 0.1, 1.0, 60.0};
  uint64_t seed = 5150;
  int crossed = 0;
  for (int i = 0; i < 100000; i++) {
    struct bw_battery_state now = bw_battery_start(&battery);
    now.charge = i % 3 == 0 ? 0.05 * (double)(1 + i % 19) : test_uniform(&seed, 0.1, 0.95);
    now.rc_voltage = test_uniform(&seed, -9.0, 9.0);
    const struct bw_battery_state before = now;
    const double power = test_uniform(&seed, -60e3, 60e3);
    struct bw_battery_step step;
    assert_int_equal(bw_battery_advance(&battery, &now, power, durations[i % 5], &step), BW_OK);
    const double sum = step.cells + step.rc + step.resistance;
    CHECK_RELATIVE(sum, step.terminals, 1e-12);
    /* the same work from the table's own integral, which loses digits but knows every point */
    const double way = bw_table1_integral(&battery.ocv, now.charge) -
                       bw_table1_integral(&battery.ocv, before.charge);
    CHECK_CLOSE(step.cells, battery.capacity * way, 1e-6 + 1e-12 * fabs(step.cells));
    CHECK_RELATIVE(step.terminals, power * durations[i % 5], 1e-15);
    CHECK_RELATIVE(step.voltage * step.current, power, 1e-12);
    CHECK_CLOSE(now.charge - before.charge, step.current * durations[i % 5] / battery.capacity,
                1e-15);
    crossed += bw_table1_segment(&battery.ocv, now.charge) !=
                       bw_table1_segment(&battery.ocv, before.charge)
                   ? 1
                   : 0;
  }
  assert_in_range(crossed, 1000, 100000);
}

/* closed form: RC pair under a constant current, U(t) = R I + (U0 - R I) exp(-t / tau); without a
 * time constant the pair is a resistor */
static void pair_follows_its_exponential(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  battery.rc_resistance = 0.05;
  battery.rc_time = 7.3;
  static const double durations[] = {0.01, 0.5, 20.0};
  for (size_t i = 0; i < 3; i++) {
    struct bw_battery_state now = bw_battery_start(&battery);
    now.rc_voltage = 3.1;
    struct bw_battery_step step;
    assert_int_equal(bw_battery_advance(&battery, &now, 31e3, durations[i], &step), BW_OK);
    const double settled = 0.05 * step.current;
    CHECK_RELATIVE(now.rc_voltage, settled + (3.1 - settled) * exp(-durations[i] / 7.3), 1e-13);
    const double integral =
        settled * durations[i] + (3.1 - settled) * 7.3 * (1.0 - exp(-durations[i] / 7.3));
    CHECK_RELATIVE(step.rc, step.current * integral, 1e-11);
  }
  battery.rc_time = 0.0;
  struct bw_battery_state now = bw_battery_start(&battery);
  struct bw_battery_step step;
  assert_int_equal(bw_battery_advance(&battery, &now, 31e3, 0.01, &step), BW_OK);
  CHECK_RELATIVE(step.rc, 0.05 * step.current * step.current * 0.01, 1e-13);
}

static void check_refused(const struct bw_battery *battery, double charge, double power,
                          double duration) {
  struct bw_battery_state now = bw_battery_start(battery);
  now.charge = charge;
  now.rc_voltage = 0.37;
  const struct bw_battery_state before = now;
  struct bw_battery_step step = {0};
  assert_int_equal(bw_battery_advance(battery, &now, power, duration, &step), BW_E_NUMERIC);
  assert_memory_equal(&now, &before, sizeof now);
}

static void impossible_steps_leave_the_state(void **state) {
  (void)state;
  const struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  const double most = 360.0 * 360.0 / (4.0 * 0.08);
  check_refused(&battery, 0.5, -1.05 * most, 0.01); /* more than U^2 / 4R */
  check_refused(&battery, 0.5, (double)NAN, 0.01);
  check_refused(&battery, 0.5, (double)INFINITY, 0.01);
  check_refused(&battery, 1.0, 1000.0, 0.01);  /* beyond full */
  check_refused(&battery, 0.0, -1000.0, 0.01); /* beyond empty */
  check_refused(&battery, 0.5, -50e3, 1e5);
  check_refused(&battery, (double)NAN, 10.0, 0.01);
}

/* what a forecast of the limit is wrong by is neither refused nor cut off: it is in the charge and
 * the books, nothing more is let in, and the next load takes it out */
static void full_battery_bears_an_error_of_forecast(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  battery.start_charge = 1.0;
  struct bw_battery_state now = bw_battery_start(&battery);
  struct bw_battery_limits limits;
  struct bw_battery_step step;
  assert_int_equal(bw_battery_advance(&battery, &now, 5e-6, 0.1, &step), BW_OK);
  CHECK_WITHIN(step.current, 1e-9, 1e-7);
  CHECK_RELATIVE(step.cells + step.rc + step.resistance, 5e-7, 1e-12);
  assert_int_equal(bw_battery_advance(&battery, &now, 10.0, 0.1, &step), BW_OK);
  CHECK_RELATIVE(now.charge - 1.0, step.current * 0.1 / battery.capacity, 1e-6);
  bw_battery_limits(&battery, &now, &limits);
  CHECK_CLOSE(limits.charge_current, 0.0, 0.0);
  CHECK_CLOSE(limits.charge_power, 0.0, 0.0);
  check_refused(&battery, now.charge, 100.0, 0.1);
  const double before = now.charge;
  assert_int_equal(bw_battery_advance(&battery, &now, -17.0, 0.1, &step), BW_OK);
  CHECK_WITHIN(now.charge, 0.0, before);
  CHECK_WITHIN(now.charge, 0.0, 1.0);
}

static void start_is_rested_and_full_of_pulse(void **state) {
  (void)state;
  struct bw_battery battery = make_pack(96.0, 30.0, 0.08);
  battery.start_charge = 0.71;
  const struct bw_battery_state now = bw_battery_start(&battery);
  CHECK_CLOSE(now.charge, 0.71, 0.0);
  CHECK_CLOSE(now.rc_voltage, 0.0, 0.0);
  CHECK_CLOSE(now.pulse_budget, 0.0, 0.0); /* pulse = continuous here */
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(charge_power_under_a_voltage_ceiling),
      cmocka_unit_test(charge_power_ratios),
      cmocka_unit_test(limits_end_at_full_and_empty),
      cmocka_unit_test(discharge_power_respects_all_three),
      cmocka_unit_test(pulse_budget_empties_and_fills),
      cmocka_unit_test(charging_at_the_limit_keeps_the_ceiling),
      cmocka_unit_test(steps_follow_the_continuous_model),
      cmocka_unit_test(energy_closes),
      cmocka_unit_test(pair_follows_its_exponential),
      cmocka_unit_test(impossible_steps_leave_the_state),
      cmocka_unit_test(full_battery_bears_an_error_of_forecast),
      cmocka_unit_test(start_is_rested_and_full_of_pulse),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
