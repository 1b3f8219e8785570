/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/evaluate.h"
#include "check.h"
#include "make_case.h"
#include "reference.h"
#include "strategies/builtin.h"

/** Stopping distances and mean fully developed deceleration. */

static const double KMH = 1.0 / 3.6;
static const double MPH = 1609.344 / 3600.0;
static const double FOOT = 0.3048;

/* distance (m) of RV-1 without road load from `speed`, `reaction` s before braking at `rate` */
static double stop_distance(double speed, double reaction, double rate) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  if (reaction > 0.0) {
    /* a demand may not jump: it rises within a microsecond */
    const double time[4] = {0.0, reaction, reaction + 1e-6, 60.0};
    const double value[4] = {0.0, 0.0, rate, rate};
    make_trace(made, BW_TRACE_DECEL, time, value, 4);
    made->driver.initial_speed = speed;
  } else {
    make_stop(made, speed, rate, 60.0);
  }
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 0.0, &time, &distance);
  free_record(&record);
  free_case(made);
  return distance;
}

static void road_design(struct reference_list *list) {
  static const struct reference_origin TEXAS = {
      "Texas DOT Roadway Design Manual 4.11.1: 1.47 V t + 1.075 V2/a", MARK_READ};
  static const struct reference_origin GREEN = {"AASHTO Green Book, metric table",
                                                MARK_FROM_MEMORY};
  static const struct reference_origin FORM = {"v2/(2a)", MARK_DERIVED};
  static const double MILES[][2] = {{30.0, 196.6}, {60.0, 566.0}, {80.0, 908.3}};
  static const double METRES[][3] = {
      {20.0, 4.6, 4.54},      {40.0, 18.4, 18.16},    {60.0, 41.3, 40.85},   {80.0, 73.4, 72.62},
      {100.0, 114.7, 113.47}, {120.0, 165.2, 163.40}, {130.0, 193.8, 191.77}};
  for (size_t i = 0; i < sizeof MILES / sizeof *MILES; i++) {
    const double ours = stop_distance(MILES[i][0] * MPH, 2.5, 11.2 * FOOT) / FOOT;
    reference_add(list, "STOP-2", "ft", TEXAS,
                  (struct reference_pair){MILES[i][1], ours, 2.5e-3 * MILES[i][1]},
                  "sight distance, %.0f mph, 2.5 s, 11.2 ft/s2", MILES[i][0]);
    reference_explain(list, "the source rounds 1.46667 and 1.07556");
  }
  for (size_t i = 0; i < sizeof METRES / sizeof *METRES; i++) {
    const double ours = stop_distance(METRES[i][0] * KMH, 0.0, 3.4);
    reference_add(list, "STOP-3", "m", GREEN,
                  (struct reference_pair){METRES[i][1], ours, 0.012 * METRES[i][1] + 0.05},
                  "braking distance, %.0f km/h, 3.4 m/s2", METRES[i][0]);
    reference_explain(list, "the table uses 0.039 for 0.03858, 1.1 % long");
    reference_add(list, "STOP-4", "m", FORM,
                  (struct reference_pair){METRES[i][2], ours, fmax(0.0051, 1e-4 * ours)},
                  "the same, exact");
  }
}

/* mean fully developed deceleration (m/s2) of a demand given over time, from 100 km/h */
static double developed(const double *time, const double *rate, size_t n) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_trace(made, BW_TRACE_DECEL, time, rate, n);
  make_steps(made, 0.001, 1);
  made->driver.initial_speed = 100.0 * KMH;
  struct bw_evaluation evaluation;
  struct bw_diag diag = {0};
  if (bw_evaluate(made, &TEST_FRICTION, NULL, &evaluation, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  const double mean = evaluation.summary.value[BW_SUMMARY_MFDD];
  bw_evaluation_free(&evaluation);
  free_case(made);
  return mean;
}

static void mean_deceleration(struct reference_list *list) {
  static const struct reference_origin RULE = {"GRRF-56-3 (UN R13 Annex 4 draft): definition",
                                               MARK_READ};
  static const struct reference_origin FORM = {"closed form of that definition", MARK_DERIVED};
  const double steady[2] = {6.0, 6.0};
  const double whole[2] = {0.0, 20.0};
  reference_add(list, "STOP-6", "m/s2", RULE,
                (struct reference_pair){6.0, developed(whole, steady, 2), 6e-4},
                "mean deceleration of a constant 6 m/s2");
  const double late_time[4] = {0.0, 0.3, 0.300001, 20.0};
  const double late_rate[4] = {0.0, 0.0, 6.0, 6.0};
  reference_add(list, "STOP-6", "m/s2", RULE,
                (struct reference_pair){6.0, developed(late_time, late_rate, 4), 6e-4},
                "the same, braking 0.3 s late");
  /* 6 m/s2 but 5 between 40 and 30 km/h */
  const double t1 = 60.0 * KMH / 6.0;
  const double t2 = t1 + 10.0 * KMH / 5.0;
  const double dip_time[6] = {0.0, t1, t1 + 1e-6, t2, t2 + 1e-6, 20.0};
  const double dip_rate[6] = {6.0, 6.0, 5.0, 5.0, 6.0, 6.0};
  reference_add(list, "STOP-7", "m/s2", FORM,
                (struct reference_pair){5.86957, developed(dip_time, dip_rate, 6), 6e-4},
                "6 m/s2, but 5 between 40 and 30 km/h");
}

void reference_stops(struct reference_list *list) {
  road_design(list);
  mean_deceleration(list);
}
