/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "model/friction.h"

static const double PI = 3.14159265358979323846;
static const double BAR = 1e5;

static struct bw_friction one_disc(void) {
  return (struct bw_friction){.per_pressure = 1.0,
                              .threshold = 0.5 * BAR,
                              .pad_nominal = 0.40,
                              .pad_scale = 1.0,
                              .heat_capacity = 7.0 * 460.0,
                              .heat_share = 1.0};
}

/* FRI-1, value derived, formula T = 2 mu (p - p0) A r_eff eta from memory (standard): one 57 mm
 * piston, r_eff 0.125 m, eta 0.98, mu 0.38: 23.757 N m per bar, 1413.53 N m at 60 bar. The
 * controller believes in mu = 0.40 here; the pads' table says 0.38 at 400 K. */
static void pressure_to_torque(void **state) {
  (void)state;
  struct bw_friction friction = one_disc();
  const double area = PI / 4.0 * 0.057 * 0.057;
  friction.per_pressure = 2.0 * 0.40 * area * 0.125 * 0.98;
  const double temperature[3] = {300.0, 500.0, 800.0};
  const double mu[3] = {0.36, 0.40, 0.28};
  assert_int_equal(bw_table1_make(temperature, mu, 3, &friction.pad, NULL), BW_OK);
  const double gain = bw_friction_gain(&friction, 400.0);
  CHECK_CLOSE(gain * BAR, 23.757, 0.00051);
  CHECK_CLOSE(gain * (60.0 * BAR - friction.threshold), 1413.53, 0.0051);
  /* fade: 0.28 / 0.40 of nominal beyond the table; worn scale on top */
  CHECK_RELATIVE(bw_friction_gain(&friction, 900.0), 0.7 * friction.per_pressure, 1e-14);
  friction.pad_scale = 0.85;
  CHECK_RELATIVE(bw_friction_gain(&friction, 900.0), 0.595 * friction.per_pressure, 1e-14);
  friction.pad.n = 0;
  CHECK_RELATIVE(bw_friction_gain(&friction, 900.0), 0.85 * friction.per_pressure, 1e-14);
}

/* a stop too short to cool in: all the energy within a nanosecond */
static double stop(const struct bw_friction *friction, double temperature, double energy) {
  return bw_friction_heat(friction, temperature, energy / 1e-9, 0.0, 293.15, 1e-9);
}

/* FRI-4, value derived: 35 % of the kinetic energy of 1500 kg at 100 km/h, 202.546 kJ, into one
 * disc of 7 kg, c = 460 J/(kg K): 62.903 K; with 95 % of the heat to the disc 59.757 K */
static void single_stop_adiabatic(void **state) {
  (void)state;
  struct bw_friction friction = one_disc();
  const double energy = 0.35 * 0.5 * 1500.0 * (100.0 / 3.6) * (100.0 / 3.6);
  CHECK_CLOSE(stop(&friction, 311.0, energy) - 311.0, 62.903, 0.00051);
  friction.heat_share = 0.95;
  CHECK_CLOSE(stop(&friction, 311.0, energy) - 311.0, 59.757, 0.00051);
}

/* FRI-6, derived (form in Limpert, from memory): equal stops 60 s apart, dT = 59.757 K, hA =
 * 4 W/K, m c = 3220 J/K: 59.8, 258.8, 437.2, 831.5 K after stops 1, 5, 10, 100; limit 832.0 K.
 * Formula: rise after stop n = dT (1 - x^n) / (1 - x), x = exp(-hA t_c / (m c)) */
static void repeated_stops(void **state) {
  (void)state;
  struct bw_friction friction = one_disc();
  friction.cooling = 4.0;
  const double ambient = 293.15;
  const double x = exp(-4.0 * 60.0 / 3220.0);
  double temperature = ambient;
  for (int n = 1; n <= 100; n++) {
    temperature = stop(&friction, temperature, 59.757 * 3220.0);
    CHECK_RELATIVE(temperature - ambient, 59.757 * (1.0 - pow(x, n)) / (1.0 - x), 1e-8);
    const double rounded = n == 1     ? 59.8
                           : n == 5   ? 258.8
                           : n == 10  ? 437.2
                           : n == 100 ? 831.5
                                      : 0.0;
    if (rounded > 0.0) {
      CHECK_CLOSE(temperature - ambient, rounded, 0.051);
    }
    /* cool in uneven pieces: the linear part is exact whatever the step */
    temperature = bw_friction_heat(&friction, temperature, 0.0, 17.0, ambient, 0.01);
    temperature = bw_friction_heat(&friction, temperature, 0.0, 17.0, ambient, 7.99);
    temperature = bw_friction_heat(&friction, temperature, 0.0, 17.0, ambient, 52.0);
  }
}

/* FRI-7, derived: continuous drag of 5 kW, hA = 4 W/K: 388.9 K at 300 s, limit 1250 K */
static void continuous_drag(void **state) {
  (void)state;
  struct bw_friction friction = one_disc();
  friction.cooling = 1.5;
  friction.cooling_speed = 0.1; /* 1.5 + 0.1 x 25 = 4 */
  const double ambient = 288.15;
  double temperature = ambient;
  for (int i = 0; i < 30000; i++) {
    temperature = bw_friction_heat(&friction, temperature, 5e3, 25.0, ambient, 0.01);
  }
  CHECK_CLOSE(temperature - ambient, 388.9, 0.051);
  CHECK_RELATIVE(temperature - ambient, 1250.0 * (1.0 - exp(-4.0 * 300.0 / 3220.0)), 1e-10);
  CHECK_CLOSE(bw_friction_heat(&friction, temperature, 5e3, 25.0, ambient, 1e6), ambient + 1250.0,
              1e-9);
}

/* Stefan-Boltzmann law: radiation alone settles where power = 5.670374419e-8 A (T^4 - Ta^4); with
 * it the drag of FRI-7 stays far below the 1250 K rise */
static void radiation_bounds_the_drag(void **state) {
  (void)state;
  struct bw_friction friction = one_disc();
  friction.radiating_area = 0.11;
  const double ambient = 288.15;
  double temperature = ambient;
  for (int i = 0; i < 60000; i++) {
    temperature = bw_friction_heat(&friction, temperature, 5e3, 0.0, ambient, 0.1);
  }
  const double settled = pow(5e3 / (5.670374419e-8 * 0.11) + pow(ambient, 4.0), 0.25);
  CHECK_RELATIVE(temperature, settled, 1e-9);
  friction.cooling = 4.0;
  temperature = ambient;
  for (int i = 0; i < 60000; i++) {
    temperature = bw_friction_heat(&friction, temperature, 5e3, 0.0, ambient, 0.1);
  }
  CHECK_WITHIN(temperature, ambient + 500.0, settled);
}

static void without_cooling_nothing_is_lost(void **state) {
  (void)state;
  const struct bw_friction friction = one_disc();
  CHECK_CLOSE(bw_friction_heat(&friction, 700.0, 0.0, 30.0, 293.15, 100.0), 700.0, 0.0);
  CHECK_RELATIVE(bw_friction_heat(&friction, 300.0, 322.0, 0.0, 293.15, 10.0), 301.0, 1e-15);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pressure_to_torque),
      cmocka_unit_test(single_stop_adiabatic),
      cmocka_unit_test(repeated_stops),
      cmocka_unit_test(continuous_drag),
      cmocka_unit_test(radiation_bounds_the_drag),
      cmocka_unit_test(without_cooling_nothing_is_lost),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
