/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The waterfall: it sums, it names the limit that binds, and lifting it gives what it says. */
#include "check.h"
#include "make_case.h"
#include "samples.h"
#include "whole_case.h"

#include "assess/waterfall.h"
#include "strategies/registry.h"

#include <math.h>

static void check_sums(const struct bw_waterfall_bin *bin, double rounding) {
  double left = bin->delivered;
  for (int i = 0; i < BW_WATERFALL_COUNT; i++) {
    left -= bin->step[i];
    if (i <= BW_WATERFALL_NOT_ASKED) {
      CHECK_WITHIN(bin->step[i], -rounding, (double)INFINITY);
      CHECK_WITHIN(bin->last_in[i], -rounding, (double)INFINITY);
    }
    /* lifting a limit alone gives no more than it took when it came first or later */
    CHECK_WITHIN(bin->last_in[i], -(double)INFINITY,
                 bin->delivered + fabs(bin->step[i]) + rounding);
  }
  CHECK_CLOSE(left, bin->cells, rounding);
}

/* every example, every strategy: the whole and each speed range */
static void sums_to_the_energy_into_the_cells(void **state) {
  (void)state;
  static const char *const path[] = {"cases/stop-100.cfg", "cases/crossover-us06.cfg",
                                     "cases/van-nycc.cfg"};
  for (size_t k = 0; k < sizeof path / sizeof path[0]; k++) {
    struct bw_case *loaded = load_case(path[k], NULL, 0);
    for (size_t s = 0; s < bw_strategy_count(); s++) {
      struct bw_evaluation evaluation = evaluate_case(loaded, bw_strategy_at(s));
      const struct bw_waterfall_bin total = bw_waterfall_total(&evaluation.waterfall);
      const double rounding = 1e-9 * (total.delivered + 1.0);
      check_sums(&total, rounding);
      for (size_t b = 0; b < BW_WATERFALL_BINS; b++) {
        check_sums(&evaluation.waterfall.bin[b], rounding);
      }
      const double *value = evaluation.summary.value;
      CHECK_CLOSE(total.delivered, value[BW_SUMMARY_ENERGY_DELIVERED] * 1e3, rounding);
      CHECK_CLOSE(total.cells, value[BW_SUMMARY_ENERGY_CELLS] * 1e3, rounding);
      bw_evaluation_free(&evaluation);
    }
    bw_case_destroy(loaded);
  }
}

static void check_all_strategies(const struct bw_case *loaded, double *antilock, double *tyre) {
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct bw_evaluation evaluation = evaluate_case(loaded, bw_strategy_at(s));
    const double *value = evaluation.summary.value;
    const struct bw_waterfall_bin total = bw_waterfall_total(&evaluation.waterfall);
    const double rounding = 1e-9 * (total.delivered + 1.0);
    check_sums(&total, rounding);
    for (size_t b = 0; b < BW_WATERFALL_BINS; b++) {
      check_sums(&evaluation.waterfall.bin[b], rounding);
    }
    CHECK_CLOSE(total.delivered, value[BW_SUMMARY_ENERGY_DELIVERED] * 1e3, rounding);
    CHECK_CLOSE(total.cells, value[BW_SUMMARY_ENERGY_CELLS] * 1e3, rounding);
    *antilock += value[BW_SUMMARY_ANTILOCK_TIME];
    *tyre = fmax(*tyre, total.step[BW_WATERFALL_TYRE] / total.delivered);
    bw_evaluation_free(&evaluation);
  }
}

/* Wheels of their own: with slip, shafts and antilock at work the steps still sum to the energy
 * into the cells, in the whole and in each speed range; on snow with antilock, on dry road without.
 */
static void sums_with_wheels_of_their_own(void **state) {
  (void)state;
  static const char *const path[] = {"cases/stop-100.cfg", "cases/manoeuvres/snow-stop.cfg",
                                     "cases/manoeuvres/grip-step.cfg"};
  for (size_t k = 0; k < sizeof path / sizeof path[0]; k++) {
    const struct bw_override override = {.text = "simulation.fidelity=slip"};
    struct bw_case *loaded = load_case(path[k], &override, 1);
    double antilock = 0.0;
    double tyre = 0.0;
    check_all_strategies(loaded, &antilock, &tyre);
    CHECK_WITHIN(tyre, 0.001, 0.2); /* greatest part of what machines brake that tyres take */
    if (k > 0) {
      CHECK_WITHIN(antilock, 1.0, 1e3);
    }
    bw_case_destroy(loaded);
  }
}

/* a stop of a car with one lossless machine in front, all sets in turn: closed forms, derived */
static void names_the_limit_that_binds(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  make_machine(made, BW_FRONT, 1e4, 1e6);
  const struct bw_judge judge = bw_judge_make(made);
  const struct bw_bound bound = bw_bound_start(&judge);
  const unsigned all = (1U << (BW_WATERFALL_BATTERY + 1)) - 1;
  struct bw_waterfall_moment moment = {.speed = 20.0,
                                       .torque = 1000.0,
                                       .split = {800.0, 200.0},
                                       .rule = {700.0, 500.0},
                                       .cool = {600.0, 0.0},
                                       .hot = {500.0, 0.0},
                                       .cool_slow = {450.0, 0.0},
                                       .limit = {400.0, 0.0},
                                       .power = 20.0 / 0.32 * 300.0};
  static const double wanted[] = {800.0, 700.0, 600.0, 500.0, 400.0, 300.0};
  for (unsigned j = 0; j <= BW_WATERFALL_BATTERY; j++) {
    CHECK_CLOSE(bw_waterfall_torque(&bound, &moment, (2U << j) - 1), wanted[j], 1e-9);
    /* the battery binds: lifting another limit gives nothing, lifting the battery gives 100 */
    const double lifted = bw_waterfall_torque(&bound, &moment, all & ~(1U << j));
    CHECK_CLOSE(lifted, j == BW_WATERFALL_BATTERY ? 400.0 : 300.0, 1e-9);
  }
  moment.power = 1e9;
  CHECK_CLOSE(bw_waterfall_torque(&bound, &moment, all & ~(1U << BW_WATERFALL_DERATING)), 450.0,
              1e-9);
  CHECK_CLOSE(bw_waterfall_torque(&bound, &moment, all & ~(1U << BW_WATERFALL_LOW_SPEED)), 500.0,
              1e-9);
  CHECK_CLOSE(bw_waterfall_torque(&bound, &moment, all & ~(1U << BW_WATERFALL_ENVELOPE)), 700.0,
              1e-9);
  free_case(made);
}

/* two lossy machines against a battery limit: no point of a fine grid does better, and the found
 * sum is within a cell of the best of the grid */
static void battery_limit_of_two_machines(void **state) {
  (void)state;
  uint64_t seed = 77;
  for (int n = 0; n < 200; n++) {
    struct bw_case *made = samples_case();
    for (int i = 0; i < 2; i++) {
      make_machine(made, i, 1e4, 1e6);
      made->machine[i].ratio = test_uniform(&seed, 6.0, 12.0);
      made->machine[i].efficiency = test_uniform(&seed, 0.9, 1.0);
      made->machine[i].loss_kt = test_uniform(&seed, 0.0, 0.05);
      made->machine[i].loss_k1 = test_uniform(&seed, 0.0, 1.0);
      made->machine[i].is_gated_off_idle = true;
    }
    const struct bw_judge judge = bw_judge_make(made);
    const struct bw_bound bound = bw_bound_start(&judge);
    const double most[2] = {test_uniform(&seed, 0.0, 1000.0), test_uniform(&seed, 0.0, 1000.0)};
    const struct bw_waterfall_moment moment = {.speed = test_uniform(&seed, 10.0, 35.0),
                                               .torque = test_uniform(&seed, 100.0, 2000.0),
                                               .limit = {most[0], most[1]},
                                               .power = test_uniform(&seed, 1e3, 8e4)};
    const unsigned sets = 1U << BW_WATERFALL_ENVELOPE | 1U << BW_WATERFALL_DERATING |
                          1U << BW_WATERFALL_LOW_SPEED | 1U << BW_WATERFALL_BATTERY;
    const double found = bw_waterfall_torque(&bound, &moment, sets);
    double best = 0.0;
    enum { CELLS = 200 };
    for (int i = 0; i <= CELLS; i++) {
      for (int j = 0; j <= CELLS; j++) {
        const double front = fmin(most[0], moment.torque) * i / CELLS;
        const double rear = fmin(most[1], moment.torque - front) * j / CELLS;
        const double torque[2] = {front, rear};
        double power = 0.0;
        for (int k = 0; k < 2; k++) {
          const struct bw_bound_machine *machine = &bound.machine[k];
          if (torque[k] > 0.0) {
            power += bw_machine_generated(machine->machine, machine->omega * moment.speed,
                                          machine->shaft * torque[k]);
          }
        }
        best = power <= moment.power ? fmax(best, front + rear) : best;
      }
    }
    CHECK_WITHIN(found, best - 1e-6, best + (most[0] + most[1]) / CELLS + 1e-6);
    free_case(made);
  }
}

/* without a machine everything is lost to the axle split */
static void without_a_machine_all_is_axle_split(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_stop(made, 20.0, 3.0, 30.0);
  struct bw_evaluation evaluation = evaluate_case(made, &TEST_FRICTION);
  const struct bw_waterfall_bin total = bw_waterfall_total(&evaluation.waterfall);
  /* closed form, derived: half m v^2 less road load, all of it by friction */
  CHECK_WITHIN(total.delivered, 0.9 * 0.5 * 1500.0 * 400.0, 0.5 * 1500.0 * 400.0);
  CHECK_RELATIVE(total.step[BW_WATERFALL_SPLIT], total.delivered, 1e-12);
  bw_evaluation_free(&evaluation);
  free_case(made);
}

/* Lifting the limit that binds alone gives something back, lifting one with slack nothing: near
 * rest the low-speed limit is the least cap, derating never is in one stop from cool. */
static void last_in_values_are_those_of_what_binds(void **state) {
  (void)state;
  struct bw_case *loaded = load_case("cases/stop-100.cfg", NULL, 0);
  struct bw_evaluation evaluation = evaluate_case(loaded, bw_strategy_find("friction-only"));
  const struct bw_waterfall_bin *slowest = &evaluation.waterfall.bin[0];
  CHECK_WITHIN(slowest->last_in[BW_WATERFALL_LOW_SPEED], 0.01 * slowest->delivered,
               slowest->delivered);
  for (size_t b = 0; b < BW_WATERFALL_BINS; b++) {
    const struct bw_waterfall_bin *bin = &evaluation.waterfall.bin[b];
    CHECK_CLOSE(bin->last_in[BW_WATERFALL_DERATING], 0.0, 0.0);
    CHECK_CLOSE(bin->last_in[BW_WATERFALL_TYRE], bin->step[BW_WATERFALL_TYRE], 0.0);
  }
  bw_evaluation_free(&evaluation);
  bw_case_destroy(loaded);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sums_to_the_energy_into_the_cells),
      cmocka_unit_test(sums_with_wheels_of_their_own),
      cmocka_unit_test(names_the_limit_that_binds),
      cmocka_unit_test(battery_limit_of_two_machines),
      cmocka_unit_test(without_a_machine_all_is_axle_split),
      cmocka_unit_test(last_in_values_are_those_of_what_binds),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
