/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "model/vehicle.h"

/* The car of the balance checks (BAL rows, DES-3): 1500 kg, wheelbase 2.70 m, centre of gravity
 * 1.20 m behind the front axle and 0.54 m high. Derived values: statics of two axles, closed form,
 * evaluated by hand there to the digits printed. */
static const struct bw_vehicle CAR = {
    .load = {{.mass = 1500.0, .cg_to_front = 1.20, .cg_height = 0.54},
             {.mass = 1930.0, .cg_to_front = 1.41, .cg_height = 0.61}},
    .load_state = BW_LOAD_UNLADEN,
    .wheelbase = 2.70,
    .tyre_radius = 0.32,
    .road_f0 = 147.15,
    .road_f1 = 0.37,
    .road_f2 = 0.3606,
};
static const double WEIGHT = 1500.0 * BW_GRAVITY;

/* BAL-2, derived: ideal brake forces F_i = z N_i and the front share */
static void ideal_forces(void **state) {
  (void)state;
  static const double rows[][4] = {{0.1, 846.9, 624.6, 0.5756},   {0.2, 1752.7, 1190.3, 0.5956},
                                   {0.3, 2717.4, 1697.1, 0.6156}, {0.4, 3740.9, 2145.1, 0.6356},
                                   {0.5, 4823.2, 2534.2, 0.6556}, {0.6, 5964.5, 2864.5, 0.6756},
                                   {0.8, 8423.5, 3348.5, 0.7156}, {1.0, 11118.0, 3597.0, 0.7556}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const double z = rows[i][0];
    double load[2];
    bw_vehicle_axle_loads(&CAR, 0.0, z * BW_GRAVITY, load);
    CHECK_CLOSE(z * load[0], rows[i][1], 0.051);
    CHECK_CLOSE(z * load[1], rows[i][2], 0.051);
    CHECK_CLOSE(load[0] / (load[0] + load[1]), rows[i][3], 0.000051);
    CHECK_RELATIVE(load[0] + load[1], WEIGHT, 1e-14);
  }
}

/* BAL-4, derived: adhesion used by each axle when the front share of the force is 0.65 */
static void adhesion_used_at_fixed_share(void **state) {
  (void)state;
  static const double rows[][3] = {{0.15, 0.1665, 0.1267}, {0.30, 0.3168, 0.2731},
                                   {0.45, 0.4531, 0.4444}, {0.50, 0.4958, 0.5081},
                                   {0.60, 0.5773, 0.6473}, {0.80, 0.7267, 0.9844}};
  double load[2];
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const double z = rows[i][0];
    bw_vehicle_axle_loads(&CAR, 0.0, z * BW_GRAVITY, load);
    CHECK_CLOSE(0.65 * z * WEIGHT / load[0], rows[i][1], 0.000051);
    CHECK_CLOSE(0.35 * z * WEIGHT / load[1], rows[i][2], 0.000051);
  }
  /* the curves cross at z0 = 0.47222 */
  const double z0 = 0.47222;
  bw_vehicle_axle_loads(&CAR, 0.0, z0 * BW_GRAVITY, load);
  CHECK_CLOSE(0.65 * z0 * WEIGHT / load[0] - 0.35 * z0 * WEIGHT / load[1], 0.0, 2e-5);
  CHECK_CLOSE(0.65 * z0 * WEIGHT / load[0], z0, 2e-5);
}

/* greatest z with all brake force on one axle at adhesion mu, by bisection on the loads */
static double greatest_braking(int axle, double adhesion) {
  double low = 0.0;
  double high = 1.0;
  for (int i = 0; i < 60; i++) {
    const double z = 0.5 * (low + high);
    double load[2];
    bw_vehicle_axle_loads(&CAR, 0.0, z * BW_GRAVITY, load);
    if (z * WEIGHT <= adhesion * load[axle]) {
      low = z;
    } else {
      high = z;
    }
  }
  return low;
}

/* BAL-6, derived: regeneration on one axle alone, greatest z before that axle locks */
static void one_axle_before_lock(void **state) {
  (void)state;
  static const double adhesions[] = {0.1, 0.2, 0.3, 0.5, 0.8};
  static const double fronts[] = {0.0567, 0.1157, 0.1773, 0.3086, 0.5291};
  static const double rears[] = {0.0436, 0.0855, 0.1258, 0.2020, 0.3065};
  for (size_t i = 0; i < 5; i++) {
    CHECK_CLOSE(greatest_braking(0, adhesions[i]), fronts[i], 0.000051);
    CHECK_CLOSE(greatest_braking(1, adhesions[i]), rears[i], 0.000051);
  }
}

/* BAL-12, derived: a slope at rest loads the axles like braking at z = grade on the level, times
 * cos(theta); facing down the front, facing up the rear */
static void slope_is_like_braking(void **state) {
  (void)state;
  static const double grades[] = {0.2, -0.2, 0.07, -0.31};
  for (size_t i = 0; i < 4; i++) {
    const double theta = atan(grades[i]);
    double sloped[2];
    double level[2];
    bw_vehicle_axle_loads(&CAR, sin(theta), 0.0, sloped);
    bw_vehicle_axle_loads(&CAR, 0.0, -grades[i] * BW_GRAVITY, level);
    CHECK_RELATIVE(sloped[0], level[0] * cos(theta), 1e-13);
    CHECK_RELATIVE(sloped[1], level[1] * cos(theta), 1e-13);
  }
}

/* DES-3, derived: holding force on a grade, 0.19612 W at 20 % and 0.28735 W at 30 % (2885.8 N and
 * 4228.3 N). Here from the load it moves: facing down, N_f = W cos b/L + F h/L. */
static void holding_force_from_load_moved(void **state) {
  (void)state;
  static const double rows[][3] = {{0.2, 0.19612, 2885.8}, {0.3, 0.28735, 4228.3}};
  for (size_t i = 0; i < 2; i++) {
    const double theta = atan(rows[i][0]);
    double load[2];
    bw_vehicle_axle_loads(&CAR, -sin(theta), 0.0, load);
    const double force = (load[0] * 2.70 - WEIGHT * cos(theta) * 1.50) / 0.54;
    CHECK_CLOSE(force / WEIGHT, rows[i][1], 0.0000051);
    CHECK_CLOSE(force, rows[i][2], 0.051);
  }
}

static void laden_state_is_its_own(void **state) {
  (void)state;
  struct bw_vehicle laden = CAR;
  laden.load_state = BW_LOAD_LADEN;
  double load[2];
  bw_vehicle_axle_loads(&laden, 0.0, 0.0, load);
  /* lever: front load = m g (L - a) / L */
  CHECK_RELATIVE(load[0], 1930.0 * 9.81 * 1.29 / 2.70, 1e-14);
  CHECK_RELATIVE(load[1], 1930.0 * 9.81 * 1.41 / 2.70, 1e-14);
}

static void road_load_is_the_polynomial(void **state) {
  (void)state;
  CHECK_CLOSE(bw_vehicle_road_load(&CAR, 0.0), 147.15, 0.0);
  /* by hand: 147.15 + 0.37 x 27.3 + 0.3606 x 745.29 */
  CHECK_CLOSE(bw_vehicle_road_load(&CAR, 27.3), 426.002574, 1e-9);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ideal_forces),
      cmocka_unit_test(adhesion_used_at_fixed_share),
      cmocka_unit_test(one_axle_before_lock),
      cmocka_unit_test(slope_is_like_braking),
      cmocka_unit_test(holding_force_from_load_moved),
      cmocka_unit_test(laden_state_is_its_own),
      cmocka_unit_test(road_load_is_the_polynomial),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
