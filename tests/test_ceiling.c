/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The proven ceiling: the charge limit of a box against brute force, and the certificate. */
#include "bent_battery.h"
#include "check.h"
#include "make_case.h"
#include "samples.h"
#include "whole_case.h"

#include "assess/ceiling.h"

#include <math.h>

static void box_is_never_below_brute_force(void **state) {
  (void)state;
  uint64_t seed = 815;
  int limited = 0;
  for (int n = 0; n < 300; n++) {
    struct bw_case *made = samples_case();
    bend_battery(&made->battery, &seed);
    const struct bw_judge judge = bw_judge_make(made);
    const struct bw_ceiling ceiling = bw_ceiling_start(&judge);
    const double from = test_uniform(&seed, 0.0, 0.95);
    const double rc = test_uniform(&seed, -8.0, 8.0);
    const struct bw_ceiling_box box = {
        .charge = {from, fmin(1.0, from + test_uniform(&seed, 0.0, 0.08))},
        .rc = {rc, rc + test_uniform(&seed, 0.0, 4.0)}};
    double best = 0.0;
    enum { GRID = 100 };
    struct bw_battery_state battery = bw_battery_start(&made->battery);
    for (int i = 0; i <= GRID; i++) {
      for (int j = 0; j <= GRID; j++) {
        battery.charge = box.charge[0] + (box.charge[1] - box.charge[0]) * i / GRID;
        battery.rc_voltage = box.rc[0] + (box.rc[1] - box.rc[0]) * j / GRID;
        struct bw_battery_limits limits;
        bw_battery_limits(&made->battery, &battery, &limits);
        best = fmax(best, limits.charge_power);
        limited += limits.binding == BW_LIMIT_CHARGE_VOLTAGE;
      }
    }
    const double found = bw_ceiling_charge_power(&ceiling, &box, BW_CEILING_CELLS);
    const double fine = bw_ceiling_charge_power(&ceiling, &box, 100 * BW_CEILING_CELLS);
    CHECK_WITHIN(fine, best * (1.0 - 1e-12), best * 1.005 + 200.0);
    CHECK_WITHIN(found, fine * (1.0 - 1e-12), (double)INFINITY);
    free_case(made);
  }
  /* both branches were met */
  CHECK_WITHIN(limited, 1e4, 2.9e6);
}

static void check_certificate(const struct bw_case *made,
                              const struct bw_blend_strategy *strategy) {
  struct bw_evaluation evaluation = evaluate_case(made, strategy);
  const double *value = evaluation.summary.value;
  const double ceiling = value[BW_SUMMARY_ENERGY_CEILING_PLANT];
  const double rounding = 1e-9 * (1.0 + fabs(ceiling));
  CHECK_WITHIN(value[BW_SUMMARY_ENERGY_BATTERY], -(double)INFINITY, ceiling + rounding);
  CHECK_WITHIN(value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT], -(double)INFINITY, ceiling + rounding);
  CHECK_WITHIN(value[BW_SUMMARY_ENERGY_CEILING_RULE],
               value[BW_SUMMARY_ENERGY_RECOVERABLE_RULE] - rounding, ceiling + rounding);
  if (!(value[BW_SUMMARY_AXLE_VIOLATIONS] > 0.0)) {
    CHECK_WITHIN(value[BW_SUMMARY_ENERGY_BATTERY], -(double)INFINITY,
                 value[BW_SUMMARY_ENERGY_CEILING_RULE] + rounding);
  }
  bw_evaluation_free(&evaluation);
}

/* no strategy exceeds the ceiling, with a common battery and with a cold full one */
static void no_strategy_exceeds_the_ceiling(void **state) {
  (void)state;
  check_ceiling_cases(check_certificate);
}

/* machines take random parts of what they may, anew every 0.2 s, some runs nearly all of it;
 * friction makes up the demand */
static void step_random(void *state, const struct bw_blend_info *info, const double *params,
                        const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  (void)info;
  const double demand = input->demand_pedal + input->demand_overrun;
  uint64_t seed = 4711 + 977 * (uint64_t)params[0] + (uint64_t)(input->time * 5.0);
  for (int i = 0; i < 3; i++) {
    (void)test_uniform(&seed, 0.0, 1.0);
  }
  const double shy = (int)params[0] % 7 < 4 ? 1.0 : 0.02;
  const int first = test_uniform(&seed, 0.0, 1.0) < 0.5 ? BW_FRONT : BW_REAR;
  double left = demand;
  for (int k = 0; k < 2; k++) {
    const int i = k == 0 ? first : 1 - first;
    const double part = 1.3 - shy * test_uniform(&seed, 0.0, 1.3);
    request->machine[i] = fmin(left, part * input->machine_available[i]);
    left -= request->machine[i];
  }
  const double front = test_uniform(&seed, 0.0, 1.0);
  request->friction[BW_FRONT] = front * left;
  request->friction[BW_REAR] = (1.0 - front) * left;
}

static const struct bw_blend_param RANDOM_PARAMS[] = {{"seed", 0.0, 1e6, 0.0, "which one"}};

/* losses over a grid that rise with torque in steps of any size: many hills of power */
static void fit_rising_map(struct bw_machine *machine, uint64_t *seed) {
  double omega[3] = {0.0, 400.0, 1200.0};
  double torque[7];
  double loss[21];
  for (int j = 0; j < 7; j++) {
    torque[j] = 45.0 * j;
  }
  for (int k = 0; k < 21; k++) {
    const double rise = test_uniform(seed, 0.0, 1.0);
    loss[k] = k % 7 == 0 ? test_uniform(seed, 100.0, 900.0) : loss[k - 1] + 4e3 * rise * rise;
  }
  assert_int_equal(bw_table2_make(omega, 3, torque, 7, loss, &machine->loss_map, NULL), BW_OK);
}

/* a car with two machines, losses by polynomial or map, a battery between -13 and 27 deg C, rigid
 * tyres or such that slip, with lags or without */
static struct bw_case *make_any_car(int n, uint64_t *seed) {
  struct bw_case *made = make_case();
  made->assess.has_ceiling = true;
  const bool has_lag = n % 3 == 1;
  for (int i = 0; i < 2; i++) {
    make_machine(made, i, 250.0, 6e4);
    struct bw_machine *machine = &made->machine[i];
    machine->ratio = 9.0;
    machine->efficiency = 0.97;
    machine->loss_kt = test_uniform(seed, 0.0, 0.3);
    machine->loss_k1 = test_uniform(seed, 0.0, 1.0);
    machine->is_gated_off_idle = n % 2 == 0;
    machine->dead_time = has_lag ? 0.004 : 0.0;
    machine->lag = has_lag ? 0.02 : machine->lag;
    if ((n + i) % 4 < 2) {
      fit_rising_map(machine, seed);
    }
  }
  if (has_lag) {
    make_friction_delay(made, 0.04, 0.07);
  }
  if (n % 5 < 2) {
    made->vehicle.slip_stiffness = test_uniform(seed, 10.0, 30.0);
  }
  bend_battery(&made->battery, seed);
  made->battery.start_charge = test_uniform(seed, 0.3, 0.99);
  make_stop(made, test_uniform(seed, 10.0, 35.0), test_uniform(seed, 0.5, 6.0), 60.0);
  return made;
}

/* The plant never lets more into the battery than it takes, also on the way to a torque beyond the
 * best one, which would send less. W and share for a speed that moves within a period. (Where tyres
 * slip, a jump of torque changes the shaft's speed by some per cent within the period.) */
static enum bw_status check_power(void *context, const struct bw_sample *sample,
                                  struct bw_diag *diag) {
  (void)diag;
  double *worst = context;
  const double sent = (sample->axle[0].dc_work + sample->axle[1].dc_work) / sample->duration;
  *worst = fmax(*worst, sent - sample->charge_power);
  CHECK_WITHIN(sent, -(double)INFINITY, sample->charge_power * 1.001 + 5.0);
  return BW_OK;
}

static void no_random_split_exceeds_the_ceiling(void **state) {
  (void)state;
  double worst = -(double)INFINITY;
  for (int n = 0; n < 240; n++) {
    struct bw_blend_param param = RANDOM_PARAMS[0];
    param.fallback = n;
    const struct bw_blend_strategy random = {.abi = BW_BLEND_ABI,
                                             .name = "test-random",
                                             .summary = "random parts",
                                             .params = &param,
                                             .param_count = 1,
                                             .state_size = 1,
                                             .step = step_random};
    uint64_t seed = 99 + (uint64_t)n;
    struct bw_case *made = make_any_car(n, &seed);
    const bool is_rigid = n % 5 >= 2;
    check_certificate(made, &random);
    const double which = n;
    struct bw_diag diag = {0};
    const struct bw_observer observer = {.context = &worst, .watch = check_power};
    if (is_rigid) {
      assert_int_equal(bw_run(made, &random, &which, &observer, 1, &diag), BW_OK);
    }
    free_case(made);
  }
  print_message("most power beyond a charge limit: %.3g W\n", worst);
}

struct watched {
  struct bw_judge judge;
  struct bw_bound bound;
  struct bw_ceiling ceiling;
  double charge;
};

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct watched *watched = context;
  struct bw_period period;
  bw_period_read(&watched->judge, sample, &period);
  bw_bound_watch(&watched->bound, sample, &period);
  bw_ceiling_watch(&watched->ceiling, &watched->bound, sample, &period);
  watched->charge = sample->charge;
  CHECK_WITHIN(sample->charge, watched->ceiling.box.charge[0] - 1e-9,
               watched->ceiling.box.charge[1] + 1e-9);
  return BW_OK;
}

static void run_watched(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                        struct watched *watched) {
  watched->judge = bw_judge_make(made);
  watched->bound = bw_bound_start(&watched->judge);
  watched->ceiling = bw_ceiling_start(&watched->judge);
  const struct bw_observer observer = {.context = watched, .watch = watch};
  struct bw_diag diag = {0};
  if (bw_run(made, strategy, NULL, &observer, 1, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
}

/* the box of a run without any recovery holds the charge of one that recovers all, and the other
 * way round: the same stop is braked */
static void box_holds_other_blends(void **state) {
  (void)state;
  uint64_t seed = 5;
  for (int n = 0; n < 20; n++) {
    struct bw_case *made = make_case();
    made->assess.has_ceiling = true;
    make_machine(made, BW_FRONT, 1e4, 1e6);
    bend_battery(&made->battery, &seed);
    made->battery.start_charge = 0.5;
    make_stop(made, 30.0, 1.5, 60.0);
    struct watched without = {0};
    struct watched with = {0};
    run_watched(made, &TEST_FRICTION, &without);
    run_watched(made, &TEST_FILL, &with);
    CHECK_WITHIN(with.charge, without.charge + 1e-5, without.ceiling.box.charge[1]);
    CHECK_WITHIN(without.charge, with.ceiling.box.charge[0], with.charge);
    free_case(made);
  }
}

/* a finer grid moves the limit less than 0.1 % for the box a run comes to */
static void refining_the_grid_moves_little(void **state) {
  (void)state;
  uint64_t seed = 31;
  for (int n = 0; n < 200; n++) {
    struct bw_case *made = samples_case();
    bend_battery(&made->battery, &seed);
    const struct bw_judge judge = bw_judge_make(made);
    const struct bw_ceiling ceiling = bw_ceiling_start(&judge);
    const double from = test_uniform(&seed, 0.0, 0.98);
    const struct bw_ceiling_box box = {.charge = {from, from + 0.02}, .rc = {-1.0, 2.0}};
    const double found = bw_ceiling_charge_power(&ceiling, &box, BW_CEILING_CELLS);
    const double fine = bw_ceiling_charge_power(&ceiling, &box, 10 * BW_CEILING_CELLS);
    CHECK_WITHIN(found, fine * (1.0 - 1e-12), fine * 1.001);
    free_case(made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(box_is_never_below_brute_force),
      cmocka_unit_test(refining_the_grid_moves_little),
      cmocka_unit_test(no_strategy_exceeds_the_ceiling),
      cmocka_unit_test(no_random_split_exceeds_the_ceiling),
      cmocka_unit_test(box_holds_other_blends),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
