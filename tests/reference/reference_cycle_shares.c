/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/evaluate.h"
#include "check.h"
#include "make_cycle.h"
#include "make_swap.h"
#include "reference.h"

/** Where the braking energy of a cycle lies over speed and power, and what a lossless machine can
 *  take of it: RV-1, driven. */

static const struct reference_origin SUMS = {
    "summed anew from the published points, steps of 10 ms", MARK_DERIVED};
static const char *const DRIVER = "a driver tracks the trace";
/* per cent of the braking work; rows are given to 0.1, the driver moves work by as much */
static const double ROW = 0.2;

enum { SPEEDS = 5, POWERS = 5, ROWS = 5 };
static const double SPEED_KMH[SPEEDS] = {5, 10, 15, 20, 30};
static const double POWER_KW[POWERS] = {5, 10, 15, 20, 30};

/* CYC-7..11; 0 where a row has no value of its own */
static const double BY_SPEED[ROWS][SPEEDS] = {{1.0, 4.2, 9.6, 17.1, 39.6},
                                              {0.2, 0.7, 1.7, 3.1, 6.9},
                                              {0.3, 1.5, 3.6, 6.8, 15.6},
                                              {2.2, 8.6, 19.1, 29.0, 56.9},
                                              {0.2, 0.8, 1.7, 3.1, 6.9}};
static const double BY_POWER[ROWS][POWERS] = {{13.9, 41.8, 69.5, 89.5, 0.0},
                                              {13.0, 35.3, 49.1, 66.5, 83.9},
                                              {3.4, 9.5, 17.2, 31.5, 58.5},
                                              {20.8, 86.3, 0.0, 0.0, 0.0},
                                              {0.7, 2.7, 21.4, 68.1, 0.0}};
static const char *const SHARE_ID[ROWS] = {"CYC-7", "CYC-8", "CYC-9", "CYC-10", "CYC-11"};

/* braking work of the driven car below each speed and each power, and in all; J */
static double work_below(const struct test_record *record, double by_speed[SPEEDS],
                         double by_power[POWERS]) {
  double whole = 0.0;
  double before = 0.0;
  for (size_t i = 0; i < record->n; i++) {
    const struct test_row *row = &record->rows[i];
    const double force = fmax(0.0, row->machine + row->friction) / 0.32; /* driving is no braking */
    const double work = force * (row->distance - before);
    const double speed = 0.5 * (row->speed_start + row->speed_end);
    before = row->distance;
    whole += work;
    for (int k = 0; k < SPEEDS; k++) {
      by_speed[k] += speed * 3.6 < SPEED_KMH[k] ? work : 0.0;
      by_power[k] += force * speed < 1e3 * POWER_KW[k] ? work : 0.0;
    }
  }
  return whole;
}

static void shares(struct reference_list *list) {
  for (int i = 0; i < ROWS; i++) {
    struct bw_case *made = make_cycle_case((enum test_cycle)i);
    struct test_record record = {0};
    record_run(made, &TEST_FILL, NULL, &record);
    double by_speed[SPEEDS] = {0};
    double by_power[POWERS] = {0};
    const double whole = work_below(&record, by_speed, by_power);
    for (int k = 0; k < SPEEDS; k++) {
      reference_add(list, SHARE_ID[i], "%", SUMS,
                    (struct reference_pair){BY_SPEED[i][k], 100.0 * by_speed[k] / whole, ROW},
                    "%s: braking work below %.0f km/h", cycle_name((enum test_cycle)i),
                    SPEED_KMH[k]);
      reference_explain(list, DRIVER);
    }
    for (int k = 0; k < POWERS && BY_POWER[i][k] > 0.0; k++) {
      reference_add(list, SHARE_ID[i], "%", SUMS,
                    (struct reference_pair){BY_POWER[i][k], 100.0 * by_power[k] / whole,
                                            0.01 * BY_POWER[i][k] + ROW},
                    "%s: braking work below %.0f kW", cycle_name((enum test_cycle)i), POWER_KW[k]);
      reference_explain(list, DRIVER);
    }
    free_record(&record);
    free_case(made);
  }
}

/* per cent of the trace's braking work that the machine takes */
static double captured(enum test_cycle cycle, double charge_power,
                       const struct bw_blend_strategy *strategy) {
  struct bw_case *made = make_ceiling_case(cycle, charge_power);
  struct bw_evaluation evaluation;
  assert_int_equal(bw_evaluate(made, strategy, NULL, &evaluation, NULL), BW_OK);
  const double *value = evaluation.summary.value;
  const double share =
      100.0 * value[BW_SUMMARY_ENERGY_MACHINE_AXLE] / value[BW_SUMMARY_ENERGY_TRACE];
  bw_evaluation_free(&evaluation);
  free_case(made);
  return share;
}

static void ceilings(struct reference_list *list) {
  static const char *const ID[ROWS] = {"CYC-12", "CYC-13", "CYC-14", "CYC-15", "CYC-16"};
  static const char *const WHAT[4] = {"off below 8 km/h", "and at most 30 kW", "and at most 15 kW",
                                      "60 % of the demand, off below 8 km/h"};
  static const double WANTED[ROWS][4] = {{97.3, 97.3, 91.3, 58.4},
                                         {99.5, 98.2, 81.3, 59.7},
                                         {99.1, 90.3, 60.9, 59.4},
                                         {94.5, 94.5, 94.5, 56.7},
                                         {99.5, 99.5, 82.2, 59.7}};
  static const double POWER[4] = {0.0, 30e3, 15e3, 0.0};
  for (int i = 0; i < ROWS; i++) {
    for (int k = 0; k < 4; k++) {
      const struct bw_blend_strategy *strategy = k < 3 ? &TEST_FILL : &TEST_SIXTY;
      const double ours = captured((enum test_cycle)i, POWER[k], strategy);
      reference_add(list, ID[i], "%", SUMS, (struct reference_pair){WANTED[i][k], ours, ROW},
                    "%s: share a lossless machine takes, %s", cycle_name((enum test_cycle)i),
                    WHAT[k]);
      reference_explain(list, DRIVER);
    }
  }
}

static void fades(struct reference_list *list) {
  static const struct reference_origin FORM = {"closed form over the speed band", MARK_DERIVED};
  static const double SPEED[3] = {30.0, 50.0, 100.0};
  static const struct {
    double from;
    double to;
    double period;
    double wanted[3];
    double tolerance;
    const char *why;
  } BANDS[] = {
      {12.0, 7.0, 0.01, {0.8974, 0.9631, 0.9908}, 1e-4, NULL},
      {10.0, 5.0, 0.01, {0.9352, 0.9767, 0.9942}, 1e-4, NULL},
      {8.0, 8.0, 0.000625, {0.9289, 0.9744, 0.9936}, 1.5e-4, "a cut falls on a control period"},
  };
  for (size_t i = 0; i < sizeof BANDS / sizeof *BANDS; i++) {
    for (int k = 0; k < 3; k++) {
      const double ours =
          swap_fade_share(SPEED[k] / 3.6, BANDS[i].from / 3.6, BANDS[i].to / 3.6, BANDS[i].period);
      reference_add(list, "CYC-17", "1", FORM,
                    (struct reference_pair){BANDS[i].wanted[k], ours, BANDS[i].tolerance},
                    "stop from %.0f km/h, machine fades %.0f to %.0f km/h: its share", SPEED[k],
                    BANDS[i].from, BANDS[i].to);
      reference_explain(list, BANDS[i].why);
    }
  }
}

void reference_cycle_shares(struct reference_list *list) {
  shares(list);
  ceilings(list);
  fades(list);
}
