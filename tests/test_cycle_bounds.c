/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_cycle.h"
#include "whole_case.h"

#include "strategies/builtin.h"

/** RV-1 on published cycles: how much braking work they ask for, and how much of it a lossless
 *  machine can take. The identifiers CYC-n number the project's list of physics checks; the values
 *  are derived there from the published speed-time points joined by straight lines. */

static void cyc_1_to_6_braking_work(void **state) {
  (void)state;
  /* CYC-1..6, [D]: distance km, traction and braking kWh per 100 km, 0.1 % on energies */
  static const struct {
    double distance;
    double traction;
    double braking;
  } wanted[] = {{11.990, 11.517, 5.233}, {16.507, 10.417, 1.148}, {12.888, 17.134, 5.334},
                {1.018, 10.016, 4.921},  {6.955, 12.016, 2.768},  {11.028, 11.277, 3.563}};
  for (int i = 0; i < 6; i++) {
    struct bw_case *made = make_cycle_case((enum test_cycle)i);
    const double way = made->trace.integral[made->trace.n - 1] * 1e-3; /* km */
    CHECK_CLOSE(way, wanted[i].distance, 6e-4);
    struct bw_evaluation evaluation = evaluate_case(made, &TEST_FILL);
    const double *value = evaluation.summary.value;
    const double per_100km = 100.0 / way / 3600.0; /* kJ to kWh per 100 km */
    CHECK_RELATIVE(value[BW_SUMMARY_ENERGY_TRACE] * per_100km, wanted[i].braking, 1e-3);
    /* the driven car, not the trace: 1 % with a driver who tracks it */
    CHECK_RELATIVE(value[BW_SUMMARY_DISTANCE], wanted[i].distance, 1e-3);
    CHECK_RELATIVE(evaluation.ledger.drive * 1e-3 * per_100km, wanted[i].traction, 1e-2);
    CHECK_RELATIVE(value[BW_SUMMARY_ENERGY_MACHINE_AXLE] * per_100km, wanted[i].braking, 1e-2);
    /* lossless: what the machine takes at the axle arrives at the terminals */
    CHECK_RELATIVE(evaluation.ledger.terminals_in, value[BW_SUMMARY_ENERGY_MACHINE_AXLE] * 1e3,
                   1e-9);
    bw_evaluation_free(&evaluation);
    free_case(made);
  }
}

/* ceilings of a lossless machine, per cent of the braking work of the cycle */
struct ceiling {
  double cut;   /* machine off below 8 km/h */
  double at_30; /* and 30 kW */
  double at_15; /* and 15 kW */
  double sixty; /* off below 8 km/h, 60 % of the demand on the machine's axle */
};
/* CYC-12..16, [D], in the order UDDS, HWFET, US06, ECE-15, EUDC */
static const struct ceiling CEILING[] = {{97.3, 97.3, 91.3, 58.4},
                                         {99.5, 98.2, 81.3, 59.7},
                                         {99.1, 90.3, 60.9, 59.4},
                                         {94.5, 94.5, 94.5, 56.7},
                                         {99.5, 99.5, 82.2, 59.7}};
enum { CEILINGS = sizeof CEILING / sizeof *CEILING };

/* per cent; the rows are given to 0.1, and a driver who tracks the trace moves the braking work */
static const double ROW_ROUNDING = 0.05;
static const double DRIVER = 0.05;
/* per cent of the braking work by which the best strategy may stay below the ceiling */
static const double NEAR = 0.1;

/* no strategy takes more than the row, the best one nearly all, and the bound neither */
static void check_ceiling(enum test_cycle cycle, double charge_power, double row) {
  static const struct bw_blend_strategy *const list[] = {
      &TEST_FILL, &BW_STRATEGY_SERIES, &BW_STRATEGY_IDEAL_DISTRIBUTION, &BW_STRATEGY_PARALLEL,
      &BW_STRATEGY_FRICTION_ONLY};
  struct bw_case *made = make_ceiling_case(cycle, charge_power);
  for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
    struct bw_evaluation evaluation = evaluate_case(made, list[i]);
    const double *value = evaluation.summary.value;
    const double trace = value[BW_SUMMARY_ENERGY_TRACE];
    const double machine = 100.0 * value[BW_SUMMARY_ENERGY_MACHINE_AXLE] / trace;
    const double bound = 100.0 * value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT] / trace;
    CHECK_WITHIN(machine, 0.0, row + ROW_ROUNDING + DRIVER);
    CHECK_WITHIN(bound, row - NEAR, row + ROW_ROUNDING + DRIVER);
    CHECK_WITHIN(machine, 0.0, bound * (1.0 + 1e-9));
    if (i == 0) {
      print_message("cycle %d, %2.0f kW: row %.1f %%, machines first %.2f %%, bound %.2f %%\n",
                    (int)cycle, charge_power * 1e-3, row, machine, bound);
      CHECK_WITHIN(machine, row - NEAR, 100.0);
    }
    bw_evaluation_free(&evaluation);
  }
  free_case(made);
}

/* cycles of the rows: the sixth one, put together, has none */
static void cyc_12_to_16_low_speed_cut(void **state) {
  (void)state;
  for (int i = 0; i < CEILINGS; i++) {
    check_ceiling((enum test_cycle)i, 0.0, CEILING[i].cut);
  }
}

static void cyc_12_to_16_30_kw(void **state) {
  (void)state;
  for (int i = 0; i < CEILINGS; i++) {
    check_ceiling((enum test_cycle)i, 30e3, CEILING[i].at_30);
  }
}

static void cyc_12_to_16_15_kw(void **state) {
  (void)state;
  for (int i = 0; i < CEILINGS; i++) {
    check_ceiling((enum test_cycle)i, 15e3, CEILING[i].at_15);
  }
}

static void cyc_12_to_16_fixed_share(void **state) {
  (void)state;
  for (int i = 0; i < CEILINGS; i++) {
    struct bw_case *made = make_ceiling_case((enum test_cycle)i, 0.0);
    struct bw_evaluation evaluation = evaluate_case(made, &TEST_SIXTY);
    const double *value = evaluation.summary.value;
    const double machine =
        100.0 * value[BW_SUMMARY_ENERGY_MACHINE_AXLE] / value[BW_SUMMARY_ENERGY_TRACE];
    CHECK_WITHIN(machine, CEILING[i].sixty - 0.6 * NEAR,
                 CEILING[i].sixty + ROW_ROUNDING + 0.6 * DRIVER);
    bw_evaluation_free(&evaluation);
    free_case(made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cyc_1_to_6_braking_work),  cmocka_unit_test(cyc_12_to_16_low_speed_cut),
      cmocka_unit_test(cyc_12_to_16_30_kw),       cmocka_unit_test(cyc_12_to_16_15_kw),
      cmocka_unit_test(cyc_12_to_16_fixed_share),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
