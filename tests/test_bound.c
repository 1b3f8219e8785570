/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The instantaneous bounds against brute force. */
#include "assess/balance.h"
#include "assess/bound.h"
#include "check.h"
#include "samples.h"

static void fit_lossy(struct bw_case *made, int axle, double kt, bool is_gated) {
  make_machine(made, axle, 300.0, 1e5);
  struct bw_machine *machine = &made->machine[axle];
  machine->ratio = axle == 0 ? 9.0 : 11.0;
  machine->efficiency = axle == 0 ? 0.97 : 0.95;
  machine->is_gated_off_idle = is_gated;
  machine->loss_k0 = 150.0;
  machine->loss_k1 = 0.8;
  machine->loss_k2 = 1e-3;
  machine->loss_kt = kt;
}

/* DC power of one machine by the formula of the model, not by the library */
static double power_of(const struct bw_machine *machine, double speed, double torque) {
  const double omega = speed / 0.32 * machine->ratio;
  const double shaft = torque * machine->efficiency / machine->ratio;
  if (machine->is_gated_off_idle && !(torque > 0.0)) {
    return 0.0;
  }
  return shaft * omega - machine->loss_k0 - machine->loss_k1 * omega -
         machine->loss_k2 * omega * omega - machine->loss_kt * shaft * shaft;
}

static double brute_force(const struct bw_case *made, const struct bw_bound_moment *moment,
                          int cells) {
  double best = -1e300;
  for (int i = 0; i <= cells; i++) {
    for (int j = 0; j <= cells; j++) {
      /* scaled to what can be taken, so that every edge is on the grid */
      const double front = fmin(moment->limit[0], moment->torque) * i / cells;
      const double rear = fmin(moment->limit[1], moment->torque - front) * j / cells;
      best = fmax(best, power_of(&made->machine[0], moment->speed, front) +
                            power_of(&made->machine[1], moment->speed, rear));
    }
  }
  return best;
}

static void best_split_is_what_brute_force_finds(void **state) {
  (void)state;
  uint64_t seed = 4711;
  for (int n = 0; n < 300; n++) {
    struct bw_case *made = samples_case();
    fit_lossy(made, 0, test_uniform(&seed, 0.0, 0.4), n % 2 == 0);
    fit_lossy(made, 1, n % 5 == 0 ? 0.0 : test_uniform(&seed, 0.0, 0.4), n % 3 == 0);
    const struct bw_judge judge = bw_judge_make(made);
    const struct bw_bound bound = bw_bound_start(&judge);
    const struct bw_bound_moment moment = {
        .speed = test_uniform(&seed, 0.5, 35.0),
        .torque = test_uniform(&seed, 0.0, 3000.0),
        .limit = {test_uniform(&seed, 0.0, 2500.0), test_uniform(&seed, 0.0, 2500.0)}};
    const double found = bw_bound_power(&bound, &moment);
    const double grid = brute_force(made, &moment, 150);
    CHECK_WITHIN(found, grid - 1e-6, grid + 1e-3 * fabs(grid) + 30.0);
    free_case(made);
  }
}

/* the same polynomial given as a map: the search must come to the closed form */
static void map_and_polynomial_agree(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  fit_lossy(made, 0, 0.1, true);
  fit_lossy(made, 1, 0.2, true);
  const struct bw_judge judge = bw_judge_make(made);
  const struct bw_bound bound = bw_bound_start(&judge);
  struct bw_case *mapped = samples_case();
  double omega[40];
  double torque[40];
  double loss[1600];
  for (int axle = 0; axle < 2; axle++) {
    fit_lossy(mapped, axle, axle == 0 ? 0.1 : 0.2, true);
    struct bw_machine *machine = &mapped->machine[axle];
    for (size_t i = 0; i < 40; i++) {
      omega[i] = 30.0 * (double)i;
      for (size_t j = 0; j < 40; j++) {
        torque[j] = 8.0 * (double)j;
        loss[i * 40 + j] = machine->loss_k0 + machine->loss_k1 * omega[i] +
                           machine->loss_k2 * omega[i] * omega[i] +
                           machine->loss_kt * torque[j] * torque[j];
      }
    }
    assert_int_equal(bw_table2_make(omega, 40, torque, 40, loss, &machine->loss_map, NULL), BW_OK);
  }
  const struct bw_judge mapped_judge = bw_judge_make(mapped);
  const struct bw_bound mapped_bound = bw_bound_start(&mapped_judge);
  uint64_t seed = 5;
  for (int n = 0; n < 50; n++) {
    const struct bw_bound_moment moment = {.speed = test_uniform(&seed, 3.0, 30.0),
                                           .torque = test_uniform(&seed, 300.0, 3000.0),
                                           .limit = {2000.0, 2000.0}};
    CHECK_CLOSE(bw_bound_power(&mapped_bound, &moment), bw_bound_power(&bound, &moment), 60.0);
  }
  free_case(made);
  free_case(mapped);
}

/* a rough map: losses up and down over torque, so that the power has many hills */
static void fit_rough_map(struct bw_machine *machine, uint64_t *seed) {
  double omega[3] = {0.0, 400.0, 1200.0};
  double torque[7] = {0.0};
  double loss[21];
  for (int j = 1; j < 7; j++) {
    torque[j] = torque[j - 1] + test_uniform(seed, 10.0, 80.0);
  }
  torque[0] = test_uniform(seed, 0.0, 1.0) < 0.5 ? 0.0 : 5.0; /* a map may begin above 0 */
  for (int k = 0; k < 21; k++) {
    loss[k] = test_uniform(seed, 100.0, 9000.0);
  }
  assert_int_equal(bw_table2_make(omega, 3, torque, 7, loss, &machine->loss_map, NULL), BW_OK);
}

/* the model's formula for a machine with a map or without; the table's own look-up is tested in
 * test_table.c */
static double power_with_map(const struct bw_machine *machine, double speed, double torque) {
  if (machine->loss_map.nx == 0 || (machine->is_gated_off_idle && !(torque > 0.0))) {
    return power_of(machine, speed, torque);
  }
  const double omega = speed / 0.32 * machine->ratio;
  const double shaft = torque * machine->efficiency / machine->ratio;
  return shaft * omega - bw_table2_at(&machine->loss_map, omega, shaft);
}

/* maps, and a map beside a polynomial: no pair of torques on a fine grid gives more, and the pair
 * said to be best is admissible and gives what is said */
static void rough_maps_are_split_exactly(void **state) {
  (void)state;
  uint64_t seed = 1213;
  enum { CELLS = 300 };
  for (int n = 0; n < 300; n++) {
    struct bw_case *made = samples_case();
    for (int i = 0; i < 2; i++) {
      fit_lossy(made, i, n % 7 == 0 ? 0.0 : test_uniform(&seed, 0.0, 0.4), (n + i) % 2 == 0);
    }
    if (n % 3 != 1) {
      fit_rough_map(&made->machine[BW_FRONT], &seed);
    }
    if (n % 3 != 2) {
      fit_rough_map(&made->machine[BW_REAR], &seed);
    }
    const struct bw_judge judge = bw_judge_make(made);
    const struct bw_bound bound = bw_bound_start(&judge);
    const struct bw_bound_moment moment = {
        .speed = test_uniform(&seed, 0.5, 35.0),
        .torque = test_uniform(&seed, 0.0, 4000.0),
        .limit = {test_uniform(&seed, 0.0, 3500.0), test_uniform(&seed, 0.0, 3500.0)}};
    double torque[2];
    const double found = bw_bound_split(&bound, &moment, torque);
    double best = -(double)INFINITY;
    for (int i = 0; i <= CELLS; i++) {
      const double front = fmin(moment.limit[0], moment.torque) * i / CELLS;
      const double of_front = power_with_map(&made->machine[0], moment.speed, front);
      for (int j = 0; j <= CELLS; j++) {
        const double rear = fmin(moment.limit[1], moment.torque - front) * j / CELLS;
        best = fmax(best, of_front + power_with_map(&made->machine[1], moment.speed, rear));
      }
    }
    CHECK_WITHIN(found, best - 1e-7 * (1.0 + fabs(best)), (double)INFINITY);
    CHECK_WITHIN(torque[0], 0.0, moment.limit[0] * (1.0 + 1e-12));
    CHECK_WITHIN(torque[1], 0.0, moment.limit[1] * (1.0 + 1e-12));
    CHECK_WITHIN(torque[0] + torque[1], 0.0, moment.torque * (1.0 + 1e-12));
    /* nothing above what can be reached: an idle machine at 0 may be on or off */
    double reached = 0.0;
    for (int i = 0; i < 2; i++) {
      reached += power_with_map(&made->machine[i], moment.speed, torque[i]);
    }
    CHECK_WITHIN(found, -(double)INFINITY, reached + 1e-7 * (1.0 + fabs(reached)));
    free_case(made);
  }
}

static struct bw_sample random_sample(const struct bw_judge *judge, uint64_t *seed) {
  const struct sample_torques torques = {
      .demand = 1000.0,
      .machine = {test_uniform(seed, 0.0, 1200.0), test_uniform(seed, 0.0, 1200.0)},
      .friction = {test_uniform(seed, 0.0, 800.0), test_uniform(seed, 0.0, 800.0)}};
  struct bw_sample sample = sample_held(judge, 0.0, test_uniform(seed, 1.0, 40.0), 0.01, &torques);
  for (int i = 0; i < 2; i++) {
    sample.axle[i].envelope = torques.machine[i] + test_uniform(seed, 0.0, 500.0);
  }
  sample.charge_power = test_uniform(seed, 0.0, 6e4);
  sample.auxiliaries_work = 4.0;
  return sample;
}

static struct bw_bound watch_one(const struct bw_judge *judge, const struct bw_sample *sample) {
  struct bw_bound bound = bw_bound_start(judge);
  struct bw_period period;
  bw_period_read(judge, sample, &period);
  bw_bound_watch(&bound, sample, &period);
  return bound;
}

static void bound_holds_for_any_split_and_never_falls_with_the_limits(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  fit_lossy(made, 0, 0.05, false);
  fit_lossy(made, 1, 0.1, true);
  const struct bw_judge judge = bw_judge_make(made);
  uint64_t seed = 99;
  for (int n = 0; n < 2000; n++) {
    struct bw_sample sample = random_sample(&judge, &seed);
    const struct bw_bound bound = watch_one(&judge, &sample);
    const double speed = sample.distance / sample.duration;
    const double run = power_of(&made->machine[0], speed, sample.axle[0].machine_torque) +
                       power_of(&made->machine[1], speed, sample.axle[1].machine_torque);
    CHECK_WITHIN(fmin(run, sample.charge_power) * 0.01 - 4.0, -1e9, bound.plant + 1e-9);
    CHECK_WITHIN(bound.rule, -1e9, bound.plant + 1e-12);
    sample.charge_power *= 1.3;
    CHECK_WITHIN(watch_one(&judge, &sample).plant, bound.plant, 1e9);
    CHECK_WITHIN(watch_one(&judge, &sample).rule, bound.rule, 1e9);
    sample.axle[n % 2].envelope *= 1.3;
    CHECK_WITHIN(watch_one(&judge, &sample).plant, bound.plant - 1e-9, 1e9);
  }
  free_case(made);
}

/* caps under the rule: most that any of 20001 front shares allows which keeps rule and grip */
static void rule_caps_are_what_scanning_all_splits_finds(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  made->vehicle.adhesion = 0.7;
  const struct bw_judge judge = bw_judge_make(made);
  const struct bw_bound bound = bw_bound_start(&judge);
  const double weight = judge.mass * BW_GRAVITY;
  for (int n = 1; n < 70; n++) {
    const double z = 0.01 * n + 0.003;
    const struct sample_torques torques = {.demand = 1.0,
                                           .friction = {z * weight * judge.radius, 0.0}};
    const struct bw_sample sample = sample_held(&judge, 0.0, 20.0, 0.01, &torques);
    double most[2] = {-1.0, -1.0};
    for (int i = 0; i <= 20000; i++) {
      const double force[2] = {z * weight * i / 20000.0, z * weight * (20000 - i) / 20000.0};
      const double load[2] = {sample.axle[0].load, sample.axle[1].load};
      const bool is_held = force[0] <= 0.7 * load[0] && force[1] <= 0.7 * load[1];
      if (is_held && bw_balance_check(force, load, weight, 0.85).margin >= 0.0) {
        most[0] = fmax(most[0], force[0]);
        most[1] = fmax(most[1], force[1]);
      }
    }
    double cap[2];
    bw_bound_rule_caps(&bound, &sample, cap);
    assert_true(most[0] >= 0.0);
    CHECK_CLOSE(cap[0] / judge.radius, most[0], z * weight / 10000.0);
    CHECK_CLOSE(cap[1] / judge.radius, most[1], z * weight / 10000.0);
  }
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(best_split_is_what_brute_force_finds),
      cmocka_unit_test(map_and_polynomial_agree),
      cmocka_unit_test(rough_maps_are_split_exactly),
      cmocka_unit_test(bound_holds_for_any_split_and_never_falls_with_the_limits),
      cmocka_unit_test(rule_caps_are_what_scanning_all_splits_finds),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
