/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/cycle_energy.h"
#include "assess/evaluate.h"
#include "check.h"
#include "input/catalogue.h"
#include "make_cycle.h"
#include "reference.h"

/** Shipped cycles against their published totals, and wheel energies of RV-1 on them. */

static const double KMH = 1.0 / 3.6;
static const double MILE = 1.609344; /* km */

struct totals {
  const char *name;
  struct reference_origin origin;
  double duration; /* s */
  double distance; /* km */
  double half_digit;
  double speed_kmh;
  const char *why; /* of duration or distance */
};

static const struct totals TOTALS[] = {
    {"wltc-3b", {"UN GTR No. 15 Annex 1", MARK_READ}, 1800, 23.266, 5e-4, 131.3, NULL},
    {"udds",
     {"40 CFR Part 86 App. I (a), summary", MARK_READ},
     1369,
     7.45 * MILE,
     8e-3,
     56.7 * MILE,
     NULL},
    {"hwfet",
     {"40 CFR Part 600 App. I, summary", MARK_READ},
     765,
     10.26 * MILE,
     8e-3,
     59.9 * MILE,
     NULL},
    {"us06",
     {"40 CFR Part 86 App. I (g), summary", MARK_READ},
     596,
     8.01 * MILE,
     8e-3,
     80.3 * MILE,
     "the published table runs on at rest to 600 s"},
    {"nycc",
     {"40 CFR Part 86 App. I (e), summary", MARK_READ},
     598,
     1.18 * MILE,
     8e-3,
     27.7 * MILE,
     NULL},
    {"nedc",
     {"UN R83, its own summary", MARK_READ},
     1180,
     11.007,
     0.016,
     120.0,
     "gear changes are merged into their neighbours: 15 m"},
    {"wltc-2", {"UN GTR No. 15 Annex 1", MARK_FROM_MEMORY}, 1800, 22.649, 5e-4, 123.1, NULL},
    {"la92",
     {"California unified cycle", MARK_FROM_MEMORY},
     1435,
     9.82 * MILE,
     8e-3,
     67.2 * MILE,
     NULL},
    {"artemis-urban",
     {"Andre, Sci. Total Environ. 334 (2004) 73", MARK_FROM_MEMORY},
     993,
     4.87,
     5e-3,
     57.7,
     NULL},
    {"artemis-rural",
     {"Andre, Sci. Total Environ. 334 (2004) 73", MARK_FROM_MEMORY},
     1082,
     17.27,
     5e-3,
     111.5,
     NULL},
    {"artemis-motorway-130",
     {"Andre, Sci. Total Environ. 334 (2004) 73", MARK_FROM_MEMORY},
     1068,
     28.74,
     5e-3,
     131.8,
     NULL},
};

static struct bw_trace read_cycle(const char *name) {
  char path[BW_PATH_MAX];
  struct bw_trace trace = {.n = 0};
  struct bw_diag diag = {0};
  if (bw_cycle_path(name, "cases", ".", path, sizeof path, &diag) != BW_OK ||
      bw_trace_read(path, 0.0, &trace, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  return trace;
}

static void published_totals(struct reference_list *list) {
  for (size_t i = 0; i < sizeof TOTALS / sizeof *TOTALS; i++) {
    const struct totals *t = &TOTALS[i];
    struct bw_trace trace = read_cycle(t->name);
    double most = 0.0;
    for (size_t k = 0; k < trace.n; k++) {
      most = fmax(most, trace.value[k]);
    }
    const bool is_longer = bw_trace_duration(&trace) > t->duration;
    reference_add(
        list, t->name, "s", t->origin,
        (struct reference_pair){t->duration, bw_trace_duration(&trace), is_longer ? 4.0 : 0.0},
        "duration");
    reference_explain(list, is_longer ? t->why : NULL);
    reference_add(
        list, t->name, "km", t->origin,
        /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): a trace that was read has points */
        (struct reference_pair){t->distance, trace.integral[trace.n - 1] * 1e-3, t->half_digit},
        "distance");
    reference_explain(list, is_longer ? NULL : t->why);
    reference_add(list, t->name, "km/h", t->origin,
                  (struct reference_pair){t->speed_kmh, most / KMH, 1.1e-4}, "top speed");
    bw_trace_free(&trace);
  }
}

/* 'kWh per 100 km' of the driven car; the trace's own braking has no driver in it */
static void wheel_energies(struct reference_list *list) {
  static const struct reference_origin SCHEDULE = {
      "summed anew from the 1 Hz schedules, 40 CFR Parts 86 and 600", MARK_DERIVED};
  static const struct reference_origin POINTS = {"summed from UN R83's break-points",
                                                 MARK_FROM_MEMORY_DERIVED};
  static const char *const DRIVER = "a driver tracks the trace: 1 % allowed";
  static const double WANTED[CYCLE_COUNT][4] = {
      /* km, traction, drags, braking */
      {11.990, 11.517, 6.283, 5.233},  {16.507, 10.417, 9.270, 1.148},
      {12.888, 17.134, 11.800, 5.334}, {1.018, 10.016, 5.094, 4.921},
      {6.955, 12.016, 9.248, 2.768},   {11.028, 11.277, 7.714, 3.563}};
  for (int i = 0; i < CYCLE_COUNT; i++) {
    const enum test_cycle cycle = (enum test_cycle)i;
    const struct reference_origin origin = cycle <= CYCLE_US06 ? SCHEDULE : POINTS;
    const double *want = WANTED[i];
    static const char *const IDS[] = {"CYC-1", "CYC-2", "CYC-3", "CYC-4", "CYC-5", "CYC-6"};
    struct bw_case *made = make_cycle_case(cycle);
    const double way = made->trace.integral[made->trace.n - 1] * 1e-3;
    struct bw_evaluation evaluation;
    assert_int_equal(bw_evaluate(made, &TEST_FILL, NULL, &evaluation, NULL), BW_OK);
    const double per_100km = 100.0 / way / 3.6e6; /* J to kWh per 100 km */
    const double braking = evaluation.summary.value[BW_SUMMARY_ENERGY_TRACE] * 1e3 * per_100km;
    const double traction = evaluation.ledger.drive * per_100km;
    reference_add(list, IDS[i], "km", origin, (struct reference_pair){want[0], way, 5.1e-4},
                  "%s: distance", cycle_name(cycle));
    reference_add(list, IDS[i], "kWh/100 km", origin,
                  (struct reference_pair){want[3], braking, 1e-3 * want[3]},
                  "%s: braking work of RV-1", cycle_name(cycle));
    reference_add(list, IDS[i], "kWh/100 km", origin,
                  (struct reference_pair){want[1], traction, 1e-2 * want[1]},
                  "%s: traction work of RV-1", cycle_name(cycle));
    reference_explain(list, DRIVER);
    reference_add(
        list, IDS[i], "kWh/100 km", origin,
        (struct reference_pair){want[2], evaluation.ledger.road * per_100km, 1e-2 * want[2]},
        "%s: work of the drags", cycle_name(cycle));
    reference_explain(list, DRIVER);
    bw_evaluation_free(&evaluation);
    free_case(made);
  }
}

static void textbook_row(struct reference_list *list) {
  static const struct reference_origin BOOK = {
      "Ehsani, Gao, Emadi, table of the chapter on regenerative braking", MARK_FROM_MEMORY};
  static const char *const CAR = "drag area and mass factor of the book's car are inferred";
  struct bw_case *made = make_cycle_case(CYCLE_US06);
  struct bw_evaluation evaluation;
  assert_int_equal(bw_evaluate(made, &TEST_FILL, NULL, &evaluation, NULL), BW_OK);
  const double per_100km = 100.0 / (made->trace.integral[made->trace.n - 1] * 1e-3) / 3.6e6;
  const double braking = evaluation.summary.value[BW_SUMMARY_ENERGY_TRACE] * 1e3 * per_100km;
  reference_add(list, "Ehsani", "kWh/100 km", BOOK, (struct reference_pair){5.30, braking, 0.04},
                "US06: braking work");
  reference_explain(list, CAR);
  const double drag = evaluation.ledger.road * per_100km;
  reference_add(list, "Ehsani", "kWh/100 km", BOOK, (struct reference_pair){11.73, drag, 0.12},
                "US06: work of the drags");
  reference_explain(list, CAR);
  bw_evaluation_free(&evaluation);
  free_case(made);
}

/* worked examples of the WLTP-type cycle energy: ramps of ten steps around a steady stretch */
static void cycle_energy(struct reference_list *list) {
  static const struct reference_origin RULE = {
      "EU 2017/1151 Annex XXI Sub-Annex 7 point 5, worked by hand", MARK_DERIVED};
  static const struct {
    double mass;
    double road[3];
    double speed_kmh;
    int steady;
    double distance;
    double energy;
    double dropped;
  } EXAMPLES[] = {
      {1500.0, {100.0, 0.0, 0.03}, 36.0, 20, 300.0, 110993.14, 71282.86},
      {2000.0, {120.0, 0.5, 0.028}, 100.0, 60, 1944.444, 1585385.03, 754121.14},
  };
  for (size_t i = 0; i < sizeof EXAMPLES / sizeof *EXAMPLES; i++) {
    double time[128];
    double speed[128];
    const int n = EXAMPLES[i].steady + 21;
    for (int k = 0; k < n; k++) {
      const int up = k < 10 ? k : 10;
      const int down = n - 1 - k < 10 ? n - 1 - k : 10;
      time[k] = (double)k;
      speed[k] = EXAMPLES[i].speed_kmh * KMH * 0.1 * (double)(up < down ? up : down);
    }
    struct bw_case *made = make_case();
    made->vehicle.load[BW_LOAD_UNLADEN].mass = EXAMPLES[i].mass;
    made->vehicle.road_f0 = EXAMPLES[i].road[0];
    made->vehicle.road_f1 = EXAMPLES[i].road[1] / KMH; /* of km/h */
    made->vehicle.road_f2 = EXAMPLES[i].road[2] / (KMH * KMH);
    make_trace(made, BW_TRACE_SPEED, time, speed, (size_t)n);
    const struct bw_cycle_energy ours = bw_cycle_energy(made);
    const char *name = i == 0 ? "example A" : "example B";
    reference_add(list, "10.3", "m", RULE,
                  (struct reference_pair){EXAMPLES[i].distance, ours.distance, 5.1e-4},
                  "%s: distance", name);
    reference_add(list, "10.3", "J", RULE,
                  (struct reference_pair){EXAMPLES[i].energy, ours.demand, 5.1e-3},
                  "%s: cycle energy demand", name);
    reference_add(list, "10.3", "J", RULE,
                  (struct reference_pair){EXAMPLES[i].dropped, ours.braking, 5.1e-3},
                  "%s: dropped negative part", name);
    free_case(made);
  }
}

void reference_cycles(struct reference_list *list) {
  published_totals(list);
  wheel_energies(list);
  textbook_row(list);
  cycle_energy(list);
}
