/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "model/machine.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* an invented machine with odd numbers */
static struct bw_machine invented(void) {
  return (struct bw_machine){.is_fitted = true,
                             .shaft_torque_peak = 237.0,
                             .shaft_torque_continuous = 121.0,
                             .power_peak = 61.3e3,
                             .omega_max = 1187.0,
                             .omega_breakdown = 873.0,
                             .low_speed_zero = 1.1,
                             .low_speed_full = 2.3,
                             .ratio = 9.1,
                             .efficiency = 0.97,
                             .loss_k0 = 153.0,
                             .loss_k1 = 0.71,
                             .loss_k2 = 0.00137,
                             .loss_kt = 0.0973,
                             .derate_start = 393.15,
                             .derate_end = 427.15};
}

static struct bw_machine_condition cool(double omega) {
  return (struct bw_machine_condition){
      .speed = 30.0, .omega = omega, .temperature = 330.0, .state_of_charge = 0.5};
}

/* MOT-1, derived: 150 kW, 310 N m, ratio 9, dynamic radius 0.32 m: corner at 4620.6 rev/min, road
 * speed 61.935 km/h, 8718.75 N at the wheels */
static void corner_of_the_envelope(void **state) {
  (void)state;
  struct bw_machine machine = invented();
  machine.shaft_torque_peak = 310.0;
  machine.power_peak = 150e3;
  enum bw_limit binding = BW_LIMIT_NONE;
  double low = 1.0;
  double high = 800.0;
  for (int i = 0; i < 60; i++) {
    const double middle = 0.5 * (low + high);
    const struct bw_machine_condition at = cool(middle);
    (void)bw_machine_brake_limit(&machine, &at, &binding);
    if (binding == BW_LIMIT_PEAK_TORQUE) {
      low = middle;
    } else {
      assert_int_equal(binding, BW_LIMIT_PEAK_POWER);
      high = middle;
    }
  }
  CHECK_CLOSE(low * 60.0 / (2.0 * PI), 4620.6, 0.051);
  CHECK_CLOSE(low / 9.0 * 0.32 * 3.6, 61.935, 0.00051);
  const struct bw_machine_condition corner = cool(low);
  const double torque = bw_machine_brake_limit(&machine, &corner, &binding);
  CHECK_CLOSE(torque * 9.0 / 0.32, 8718.75, 1e-9);
  const struct bw_machine_condition fast = cool(1.7 * low);
  CHECK_RELATIVE(bw_machine_brake_limit(&machine, &fast, &binding), 310.0 / 1.7, 1e-12);
}

static double brake_limit(const struct bw_machine *machine, struct bw_machine_condition at,
                          enum bw_limit wanted) {
  enum bw_limit binding = BW_LIMIT_COUNT;
  const double torque = bw_machine_brake_limit(machine, &at, &binding);
  if (binding != wanted) {
    print_error("limit is '%s', not '%s'\n", bw_limit_text(binding), bw_limit_text(wanted));
    fail();
  }
  return torque;
}

static void every_limit_binds_in_turn(void **state) {
  (void)state;
  const struct bw_machine machine = invented();
  struct bw_machine_condition at = cool(0.0);
  CHECK_CLOSE(brake_limit(&machine, at, BW_LIMIT_PEAK_TORQUE), 237.0, 0.0);
  at = cool(431.0);
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_PEAK_POWER), 61.3e3 / 431.0, 1e-14);
  at = cool(991.0);
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_FIELD), 61.3e3 * 873.0 / (991.0 * 991.0),
                 1e-14);
  /* continuous at the breakdown speed */
  CHECK_RELATIVE(brake_limit(&machine, cool(873.0 * (1.0 + 1e-12)), BW_LIMIT_FIELD), 61.3e3 / 873.0,
                 1e-11);
  CHECK_CLOSE(brake_limit(&machine, cool(1187.1), BW_LIMIT_SPEED), 0.0, 0.0);
  at = cool(100.0);
  at.speed = 1.4;
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_LOW_SPEED), 237.0 * 0.25, 1e-12);
  at.speed = 1.1;
  CHECK_CLOSE(brake_limit(&machine, at, BW_LIMIT_LOW_SPEED), 0.0, 0.0);
  at = cool(100.0);
  at.temperature = 401.65; /* a quarter of the way: 237 - 116 / 4 */
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_DERATING), 208.0, 1e-12);
  at.temperature = 600.0;
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_DERATING), 121.0, 1e-12);
  at.speed = 1.4; /* both act, the stronger one is named */
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_LOW_SPEED), 121.0 * 0.25, 1e-12);
  at.speed = 2.1;
  CHECK_RELATIVE(brake_limit(&machine, at, BW_LIMIT_DERATING), 121.0 * (1.0 / 1.2), 1e-12);
  struct bw_machine none = machine;
  none.is_fitted = false;
  CHECK_CLOSE(brake_limit(&none, cool(100.0), BW_LIMIT_NONE), 0.0, 0.0);
  CHECK_CLOSE(bw_machine_drive_limit(&none, &at), 0.0, 0.0);
}

static void driving_knows_no_low_speed_limit(void **state) {
  (void)state;
  const struct bw_machine machine = invented();
  struct bw_machine_condition at = cool(0.0);
  at.speed = 0.0;
  CHECK_CLOSE(bw_machine_drive_limit(&machine, &at), 237.0, 0.0);
  at = cool(991.0);
  CHECK_CLOSE(bw_machine_drive_limit(&machine, &at), brake_limit(&machine, at, BW_LIMIT_FIELD),
              0.0);
}

static void torque_table_replaces_the_formula(void **state) {
  (void)state;
  struct bw_machine machine = invented();
  const double omega[2] = {0.0, 1000.0};
  const double charge[2] = {0.1, 0.9};
  const double torque[4] = {190.0, 210.0, 40.0, 90.0};
  assert_int_equal(bw_table2_make(omega, 2, charge, 2, torque, &machine.torque_table, NULL), BW_OK);
  CHECK_RELATIVE(brake_limit(&machine, cool(500.0), BW_LIMIT_PEAK_TORQUE), 132.5, 1e-13);
  CHECK_CLOSE(brake_limit(&machine, cool(1188.0), BW_LIMIT_SPEED), 0.0, 0.0);
}

static void texts_are_column_names(void **state) {
  (void)state;
  assert_string_equal(bw_limit_text(BW_LIMIT_NONE), "none");
  assert_string_equal(bw_limit_text(BW_LIMIT_CHARGE_VOLTAGE), "charge_voltage");
  assert_string_equal(bw_limit_text(BW_LIMIT_COUNT), "unknown");
}

static void loss_and_idle(void **state) {
  (void)state;
  struct bw_machine machine = invented();
  const double idle = 153.0 + 0.71 * 640.0 + 0.00137 * 640.0 * 640.0;
  CHECK_RELATIVE(bw_machine_loss(&machine, 640.0, 0.0, false), idle, 1e-14);
  CHECK_RELATIVE(bw_machine_loss(&machine, 640.0, 77.0, true), idle + 0.0973 * 77.0 * 77.0, 1e-14);
  machine.is_gated_off_idle = true;
  CHECK_CLOSE(bw_machine_loss(&machine, 640.0, 0.0, false), 0.0, 0.0);
  CHECK_RELATIVE(bw_machine_loss(&machine, 640.0, 0.0, true), idle, 1e-14);
  CHECK_RELATIVE(bw_machine_loss(&machine, 640.0, 3.0, false), idle + 0.0973 * 9.0, 1e-14);
  CHECK_RELATIVE(bw_machine_generated(&machine, 640.0, 77.0),
                 77.0 * 640.0 - idle - 0.0973 * 77.0 * 77.0, 1e-14);
}

struct crossing {
  const struct bw_machine *machine;
  double omega;
  double power;
};

static double excess(double torque, void *context) {
  const struct crossing *at = context;
  return bw_machine_generated(at->machine, at->omega, torque) - at->power;
}

/* reference: GSL 2.7, gsl_root_fsolver_brent */
static double brent_root(struct crossing *at, double low, double high) {
  gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  gsl_function function = {.function = excess, .params = at};
  assert_int_equal(gsl_root_fsolver_set(solver, &function, low, high), GSL_SUCCESS);
  for (int i = 0; i < 200; i++) {
    assert_int_equal(gsl_root_fsolver_iterate(solver), GSL_SUCCESS);
    if (gsl_root_test_interval(gsl_root_fsolver_x_lower(solver), gsl_root_fsolver_x_upper(solver),
                               1e-13, 1e-14) == GSL_SUCCESS) {
      break;
    }
  }
  const double root = gsl_root_fsolver_root(solver);
  gsl_root_fsolver_free(solver);
  return root;
}

static void torque_for_power_is_the_first_root(void **state) {
  (void)state;
  const struct bw_machine machine = invented();
  uint64_t seed = 77;
  int crossings = 0;
  int never = 0;
  for (int i = 0; i < 5000; i++) {
    struct crossing at = {&machine, test_uniform(&seed, 2.0, 1187.0),
                          test_uniform(&seed, -400.0, 30e3)};
    const double most = test_uniform(&seed, 1.0, 3000.0);
    const double torque = bw_machine_torque_for_power(&machine, at.omega, at.power, most);
    const double best = at.omega / (2.0 * machine.loss_kt); /* T* */
    const double top = best < most ? best : most;
    if (excess(0.0, &at) >= 0.0) {
      CHECK_CLOSE(torque, 0.0, 0.0);
    } else if (excess(top, &at) > 0.0) {
      CHECK_CLOSE(torque, brent_root(&at, 0.0, top), 1e-9 * top);
      crossings++;
    } else {
      CHECK_CLOSE(torque, most, 0.0);
      never++;
    }
  }
  assert_in_range(crossings, 500, 5000);
  assert_in_range(never, 200, 5000);
}

static void torque_for_power_without_copper_loss(void **state) {
  (void)state;
  struct bw_machine machine = invented();
  machine.loss_kt = 0.0;
  const double idle = bw_machine_loss(&machine, 300.0, 0.0, true);
  CHECK_RELATIVE(bw_machine_torque_for_power(&machine, 300.0, 20e3, 500.0), (20e3 + idle) / 300.0,
                 1e-14);
  CHECK_CLOSE(bw_machine_torque_for_power(&machine, 300.0, 20e3, 50.0), 50.0, 0.0);
  CHECK_CLOSE(bw_machine_torque_for_power(&machine, 0.0, 20e3, 50.0), 50.0, 0.0);
  CHECK_CLOSE(bw_machine_torque_for_power(&machine, 300.0, 20e3, 0.0), 0.0, 0.0);
  CHECK_CLOSE(bw_machine_best_torque(&machine, 300.0, 500.0), 500.0, 0.0);
}

/* a map that follows the polynomial at its points, coarse or fine in torque */
static void fit_map(struct bw_machine *machine, size_t points) {
  double omega[5];
  double torque[BW_TABLE2_MAX];
  double loss[5 * BW_TABLE2_MAX];
  for (size_t j = 0; j < points; j++) {
    torque[j] = 5.0 + 2600.0 * (double)j / (double)(points - 1);
  }
  for (size_t i = 0; i < 5; i++) {
    omega[i] = 13.0 + 293.0 * (double)i;
    for (size_t j = 0; j < points; j++) {
      loss[i * points + j] = bw_machine_loss(machine, omega[i], torque[j], true);
    }
  }
  struct bw_table2 map;
  assert_int_equal(bw_table2_make(omega, 5, torque, points, loss, &map, NULL), BW_OK);
  machine->loss_map = map;
}

static void map_crossing_is_the_first(void **state) {
  (void)state;
  struct bw_machine machine = invented();
  fit_map(&machine, 31);
  uint64_t seed = 78;
  int crossings = 0;
  for (int i = 0; i < 3000; i++) {
    struct crossing at = {&machine, test_uniform(&seed, 2.0, 1187.0),
                          test_uniform(&seed, -400.0, 30e3)};
    const double most = test_uniform(&seed, 1.0, 3000.0);
    const double torque = bw_machine_torque_for_power(&machine, at.omega, at.power, most);
    /* scan with steps much finer than the map for the first crossing */
    double first = excess(0.0, &at) >= 0.0 ? 0.0 : most;
    for (int step = 1; first > 0.0 && (double)step < most; step++) {
      if (excess(step, &at) >= 0.0) {
        first = brent_root(&at, step - 1, step);
        crossings++;
        break;
      }
    }
    CHECK_CLOSE(torque, first, first < most ? 1e-9 * (1.0 + first) : 1.0);
  }
  assert_in_range(crossings, 300, 3000);
}

static void best_torque_gives_most_power(void **state) {
  (void)state;
  struct bw_machine polynomial = invented();
  struct bw_machine mapped = invented();
  fit_map(&mapped, 23);
  uint64_t seed = 79;
  for (int i = 0; i < 400; i++) {
    const double omega = test_uniform(&seed, 0.0, 1187.0);
    const double most = test_uniform(&seed, 1.0, 3000.0);
    const struct bw_machine *both[2] = {&polynomial, &mapped};
    for (size_t k = 0; k < 2; k++) {
      const double best = bw_machine_best_torque(both[k], omega, most);
      CHECK_WITHIN(best, 0.0, most);
      const double power = bw_machine_generated(both[k], omega, best);
      for (int n = 0; n <= 300; n++) {
        const double other = bw_machine_generated(both[k], omega, most * n / 300.0);
        CHECK_WITHIN(other, -1e9, power + 1e-9 * (1.0 + fabs(power)));
      }
    }
    /* T* = w / (2 kT): derivative of the generated power is zero there */
    CHECK_RELATIVE(bw_machine_best_torque(&polynomial, omega, 1e6), omega / (2.0 * 0.0973), 1e-13);
  }
  CHECK_CLOSE(bw_machine_best_torque(&polynomial, 0.0, 50.0), 0.0, 0.0);
  CHECK_CLOSE(bw_machine_best_torque(&polynomial, 300.0, 0.0), 0.0, 0.0);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(corner_of_the_envelope),
      cmocka_unit_test(every_limit_binds_in_turn),
      cmocka_unit_test(driving_knows_no_low_speed_limit),
      cmocka_unit_test(torque_table_replaces_the_formula),
      cmocka_unit_test(texts_are_column_names),
      cmocka_unit_test(loss_and_idle),
      cmocka_unit_test(torque_for_power_is_the_first_root),
      cmocka_unit_test(torque_for_power_without_copper_loss),
      cmocka_unit_test(map_crossing_is_the_first),
      cmocka_unit_test(best_torque_gives_most_power),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
