/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "input/catalogue.h"
#include "input/trace.h"

#include <string.h>

static const double MILE = 1609.344;         /* m */
static const double KMH = 1.0 / 3.6;         /* m/s */
static const double MPH = 1609.344 / 3600.0; /* m/s */

static struct bw_trace read_cycle(const char *name, double box) {
  char path[BW_PATH_MAX];
  struct bw_trace trace = {.n = 0};
  struct bw_diag diag = {0};
  if (bw_cycle_path(name, "cases", "nowhere", path, sizeof path, &diag) != BW_OK ||
      bw_trace_read(path, box, &trace, &diag) != BW_OK) {
    fail_msg("%s", diag.line[0]);
  }
  return trace;
}

static double speed_max(const struct bw_trace *trace) {
  double most = 0.0;
  for (size_t i = 0; i < trace->n; i++) {
    most = fmax(most, trace->value[i]);
  }
  return most;
}

/** What the source beside each row says about the cycle, and how far the file may stand from it:
 *  half a last printed digit, or the reason given. */
struct published {
  const char *name;
  double duration;
  double distance;
  double distance_tolerance;
  double speed_max;
};

static void check_published(const struct published *row) {
  struct bw_trace trace = read_cycle(row->name, 0.2);
  print_message("%s\n", row->name);
  assert_int_equal(trace.kind, BW_TRACE_SPEED);
  CHECK_CLOSE(bw_trace_duration(&trace), row->duration, 0.0);
  /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): read_cycle() asserts */
  CHECK_CLOSE(trace.integral[trace.n - 1], row->distance, row->distance_tolerance);
  CHECK_CLOSE(speed_max(&trace), row->speed_max, 1e-4 * KMH); /* files carry 4 decimals of km/h */
  CHECK_CLOSE(trace.value[0], 0.0, 0.0);
  CHECK_CLOSE(trace.value[trace.n - 1], 0.0, 0.0);
  assert_true(strlen(trace.source) > 10);
  bw_trace_free(&trace);
}

static void files_agree_with_published_totals(void **state) {
  (void)state;
  /* totals read in published summaries of these cycles (the regulations named hold the tables,
   * but could be read only in part) */
  const struct published rows[] = {
      /* UN GTR No. 15 Annex 1 (class 3b), 1800 s, 23.266 km, 131.3 km/h */
      {"wltc-3b", 1800.0, 23266.0, 0.5, 131.3 * KMH},
      /* 40 CFR Part 86 App. I (a), 1369 s, 7.45 mi, 56.7 mph */
      {"udds", 1369.0, 7.45 * MILE, 0.005 * MILE, 56.7 * MPH},
      /* 40 CFR Part 600 App. I, 765 s, 10.26 mi, 59.9 mph */
      {"hwfet", 765.0, 10.26 * MILE, 0.005 * MILE, 59.9 * MPH},
      /* 40 CFR Part 86 App. I (g), 596 s, 8.01 mi, 80.3 mph; the published table
       * itself runs on at rest to 600 s */
      {"us06", 600.0, 8.01 * MILE, 0.005 * MILE, 80.3 * MPH},
      /* 40 CFR Part 86 App. I (e), 598 s, 1.18 mi, 27.7 mph */
      {"nycc", 598.0, 1.18 * MILE, 0.005 * MILE, 27.7 * MPH},
      /* UN R83 (its own summary was read), 1180 s, theoretical distance 4 x 1.013 + 6.955 = 11.007
       * km, 120 km/h; the file merges the 2 s of each gear change into the neighbouring operation,
       * which adds 15 m (11.023 km is quoted for that form) */
      {"nedc", 1180.0, 11007.0, 16.0, 120.0 * KMH},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    check_published(&rows[i]);
  }
}

static void files_agree_with_totals_from_memory(void **state) {
  (void)state;
  /* from general knowledge, no page was read: a weaker check. Duration and distance of the
   * Artemis cycles (Andre, Science of the Total Environment 334-335 (2004) 73-84); their top
   * speeds are counted in the files, so those three only guard the files against change */
  const struct published rows[] = {
      {"wltc-2", 1800.0, 22649.0, 0.5, 123.1 * KMH},
      {"la92", 1435.0, 9.82 * MILE, 0.005 * MILE, 67.2 * MPH},
      {"artemis-urban", 993.0, 4870.0, 5.0, 57.7 * KMH},
      {"artemis-rural", 1082.0, 17270.0, 5.0, 111.5 * KMH},
      {"artemis-motorway-130", 1068.0, 28740.0, 5.0, 131.8 * KMH},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    check_published(&rows[i]);
  }
}

/* the catalogue's own figures, which `list cycles` prints, must be those of the files too */
static void catalogue_and_files_agree(void **state) {
  (void)state;
  assert_int_equal(bw_cycle_count(), 11);
  assert_null(bw_cycle_at(11));
  for (size_t i = 0; i < bw_cycle_count(); i++) {
    const struct bw_cycle_entry *entry = bw_cycle_at(i);
    assert_ptr_equal(bw_cycle_find(entry->name), entry);
    struct bw_trace trace = read_cycle(entry->name, 0.2);
    CHECK_WITHIN(bw_trace_duration(&trace), entry->duration, entry->duration + 4.0); /* us06 */
    /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): read_cycle() asserts */
    CHECK_RELATIVE(trace.integral[trace.n - 1], entry->distance, 0.0015); /* nedc, see above */
    CHECK_CLOSE(speed_max(&trace), entry->speed_max, 1e-4 * KMH);
    assert_true(strlen(entry->source) > 10);
    bw_trace_free(&trace);
  }
}

/* phases of WLTC class 3b end at 589, 1022, 1477, 1800 s with lengths of 3.095, 4.756, 7.162 and
 * 8.254 km: UN GTR No. 15 Annex 1, from memory, not read */
static void wltc_phases_have_their_lengths(void **state) {
  (void)state;
  struct bw_trace trace = read_cycle("wltc-3b", 0.2);
  static const size_t ends[] = {0, 589, 1022, 1477, 1800};
  static const double lengths[] = {3095.0, 4756.0, 7162.0, 8254.0};
  for (size_t i = 0; i < 4; i++) {
    /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): read_cycle() asserts */
    CHECK_CLOSE(trace.integral[ends[i + 1]] - trace.integral[ends[i]], lengths[i], 1.0);
  }
  bw_trace_free(&trace);
}

/* largest one-second drops: the box must not raise them (DEVELOPERS.md: monotone cubics would) */
static void joining_keeps_the_table_deceleration(void **state) {
  (void)state;
  static const struct {
    const char *name;
    double deceleration; /* m/s2, 3.3 mph/s, 6.9 mph/s, 5.4 km/h/s of the tables */
  } rows[] = {
      {"udds", 3.3 * 1609.344 / 3600.0}, {"us06", 6.9 * 1609.344 / 3600.0}, {"wltc-3b", 5.4 / 3.6}};
  for (size_t i = 0; i < 3; i++) {
    struct bw_trace trace = read_cycle(rows[i].name, 0.2);
    struct bw_trace_cursor cursor = {0};
    double most = 0.0;
    for (int k = 0; k <= 100 * (int)bw_trace_duration(&trace); k++) {
      double v = 0.0;
      double a = 0.0;
      bw_trace_at(&trace, &cursor, 0.01 * k, &v, &a);
      assert_true(v >= 0.0);
      most = fmax(most, -a);
    }
    CHECK_CLOSE(most, rows[i].deceleration, 1e-4);
    bw_trace_free(&trace);
  }
}

/** Wheel energies per 100 km (kWh) of a car that follows a trace. */
struct wheel_sums {
  double distance; /* m */
  double traction;
  double drag;
  double braking;
};

/* reference car RV-1: 1500 kg, rolling 0.01, CdA 0.6 m2, g 9.81, air 1.202 kg/m3, no rotating
 * mass, so rolling force A and drag coefficient C: */
static const double MASS = 1500.0;            /* kg */
static const double ROLLING = 147.15;         /* N */
static const double DRAG = 0.5 * 1.202 * 0.6; /* N s2/m2 */

/** Sum a linear trace segment by segment: speed is linear inside, so the integral of v^3 is
 *  exactly dt (v0 + v1)(v0^2 + v1^2)/4. */
static struct wheel_sums wheel_sums(const struct bw_trace *trace) {
  struct wheel_sums sums = {0.0, 0.0, 0.0, 0.0};
  struct bw_trace_cursor cursor = {0};
  double v0 = 0.0;
  double a0 = 0.0;
  bw_trace_at(trace, &cursor, 0.0, &v0, &a0);
  for (size_t i = 1; i < trace->n; i++) {
    double v1 = 0.0;
    double a1 = 0.0;
    bw_trace_at(trace, &cursor, trace->time[i], &v1, &a1);
    const double dt = trace->time[i] - trace->time[i - 1];
    CHECK_CLOSE(v1 - v0, a0 * dt, 1e-12); /* the derivative belongs to the speed */
    const double way = 0.5 * dt * (v0 + v1);
    const double drag = ROLLING * way + DRAG * dt * (v0 + v1) * (v0 * v0 + v1 * v1) / 4.0;
    const double wheel = MASS * a0 * way + drag;
    sums.distance += way;
    sums.drag += drag;
    sums.traction += fmax(wheel, 0.0);
    sums.braking += fmax(-wheel, 0.0);
    v0 = v1;
    a0 = a1;
  }
  const double per_100_km = 1e5 / sums.distance / 3.6e6;
  /* a cycle from rest to rest: what went in came out (KIN-12, derived) */
  CHECK_CLOSE(sums.traction - sums.braking, sums.drag, 1e-12 * sums.traction);
  sums.traction *= per_100_km;
  sums.drag *= per_100_km;
  sums.braking *= per_100_km;
  return sums;
}

static void check_sums(const struct bw_trace *trace, const struct wheel_sums *wanted) {
  const struct wheel_sums sums = wheel_sums(trace);
  CHECK_CLOSE(sums.distance, wanted->distance, 0.001 * wanted->distance);
  CHECK_RELATIVE(sums.traction, wanted->traction, 1e-3);
  CHECK_RELATIVE(sums.drag, wanted->drag, 1e-3);
  CHECK_RELATIVE(sums.braking, wanted->braking, 1e-3);
}

/* CYC-1..3 [D] derived independently from the 1 Hz schedules of 40 CFR Parts 86 and 600 */
static void wheel_energy_of_the_us_schedules(void **state) {
  (void)state;
  static const struct {
    const char *name;
    struct wheel_sums sums;
  } rows[] = {{"udds", {11990.0, 11.517, 6.283, 5.233}},
              {"hwfet", {16507.0, 10.417, 9.270, 1.148}},
              {"us06", {12888.0, 17.134, 11.800, 5.334}}};
  for (size_t i = 0; i < 3; i++) {
    struct bw_trace trace = read_cycle(rows[i].name, 0.0);
    print_message("%s\n", rows[i].name);
    check_sums(&trace, &rows[i].sums);
    bw_trace_free(&trace);
  }
}

/* ECE-15 break-points of UN R83, s and km/h, [M] from memory, not read */
static const double ECE_POINTS[][2] = {{0, 0},    {11, 0},   {15, 15},  {23, 15},  {25, 10},
                                       {28, 0},   {49, 0},   {54, 15},  {56, 15},  {61, 32},
                                       {85, 32},  {93, 10},  {96, 0},   {117, 0},  {122, 15},
                                       {124, 15}, {133, 35}, {135, 35}, {143, 50}, {155, 50},
                                       {163, 35}, {178, 35}, {185, 10}, {188, 0},  {195, 0}};
enum { ECE_COUNT = sizeof ECE_POINTS / sizeof ECE_POINTS[0], POINTS_MAX = 600 };
static const double EUDC_START = 780.0; /* s in nedc.csv */

struct points {
  size_t n;
  double time[POINTS_MAX];
  double speed[POINTS_MAX];
};

static void add_ece(struct points *points, double start) {
  for (size_t i = points->n == 0 ? 0 : 1; i < ECE_COUNT; i++) {
    points->time[points->n] = start + ECE_POINTS[i][0];
    points->speed[points->n++] = ECE_POINTS[i][1] * KMH;
  }
}

static void add_eudc(struct points *points, double start) {
  struct bw_trace nedc = read_cycle("nedc", 0.0);
  for (size_t i = 0; i < nedc.n; i++) {
    if (nedc.time[i] > EUDC_START || (points->n == 0 && nedc.time[i] >= EUDC_START)) {
      points->time[points->n] = start + nedc.time[i] - EUDC_START;
      points->speed[points->n++] = nedc.value[i];
    }
  }
  bw_trace_free(&nedc);
}

static void check_points_sums(const struct points *points, const struct wheel_sums *wanted) {
  const struct bw_trace_points in = {BW_TRACE_SPEED, points->n, points->time, points->speed};
  struct bw_trace trace;
  assert_int_equal(bw_trace_make(&in, 0.0, &trace, NULL), BW_OK);
  check_sums(&trace, wanted);
  bw_trace_free(&trace);
}

/* CYC-4..6 [D] derived independently from the break-points [M] of UN R83 */
static void wheel_energy_of_the_european_cycle(void **state) {
  (void)state;
  struct points ece = {0};
  add_ece(&ece, 0.0);
  check_points_sums(&ece, &(struct wheel_sums){1018.0, 10.016, 5.094, 4.921});
  struct points eudc = {0};
  add_eudc(&eudc, 0.0);
  check_points_sums(&eudc, &(struct wheel_sums){6955.0, 12.016, 9.248, 2.768});
  struct points whole = {0};
  for (int i = 0; i < 4; i++) {
    add_ece(&whole, 195.0 * i);
  }
  add_eudc(&whole, EUDC_START);
  check_points_sums(&whole, &(struct wheel_sums){11028.0, 11.277, 7.714, 3.563});
}

static void names_and_paths_are_told_apart(void **state) {
  (void)state;
  char path[BW_PATH_MAX];
  assert_int_equal(bw_cycle_path("udds", "cases", "x", path, sizeof path, NULL), BW_OK);
  assert_string_equal(path, "cases/cycles/udds.csv");
  assert_int_equal(bw_cycle_path("own.csv", "cases", "some/where", path, sizeof path, NULL), BW_OK);
  assert_string_equal(path, "some/where/own.csv");
  assert_int_equal(bw_cycle_path("../a/b", NULL, "some", path, sizeof path, NULL), BW_OK);
  assert_string_equal(path, "some/../a/b");
  assert_int_equal(bw_cycle_path("/a/own.csv", NULL, "some", path, sizeof path, NULL), BW_OK);
  assert_string_equal(path, "/a/own.csv");
  assert_int_equal(bw_cycle_path("own.csv", NULL, "", path, sizeof path, NULL), BW_OK);
  assert_string_equal(path, "own.csv");
}

static void wrong_names_are_refused(void **state) {
  (void)state;
  char path[BW_PATH_MAX] = "";
  static const struct {
    const char *name;
    const char *data_dir;
    const char *text;
  } bad[] = {{"udss", "cases", "unknown cycle 'udss'; did you mean 'udds'?"},
             {"wltc", "cases", "unknown cycle 'wltc'"},
             {"moon", "cases", "`brakeweave list cycles`"},
             {"", "cases", "unknown cycle ''"},
             {"udds", "nowhere", "no file of the cycle 'udds' at nowhere/cycles/udds.csv; "}};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct bw_diag diag = {0};
    assert_int_equal(bw_cycle_path(bad[i].name, bad[i].data_dir, ".", path, sizeof path, &diag),
                     BW_E_INPUT);
    assert_int_equal(diag.count, 1);
    if (strstr(diag.line[0], bad[i].text) == NULL) {
      fail_msg("'%s' lacks '%s'", diag.line[0], bad[i].text);
    }
  }
  char small[10];
  struct bw_diag diag = {0};
  assert_int_equal(bw_cycle_path("udds", "cases", ".", small, sizeof small, &diag), BW_E_INPUT);
  assert_non_null(strstr(diag.line[0], "too long"));
}

/* the shipped manoeuvres hold their demand until well past the stop they are named after */
static void manoeuvres_last_beyond_the_stop(void **state) {
  (void)state;
  static const struct {
    const char *path;
    double demand; /* m/s2 */
  } rows[] = {{"cases/manoeuvres/stop-100.csv", 6.0}, {"cases/manoeuvres/gentle-stop.csv", 2.0}};
  for (size_t i = 0; i < 2; i++) {
    struct bw_trace trace;
    assert_int_equal(bw_trace_read(rows[i].path, 0.2, &trace, NULL), BW_OK);
    assert_int_equal(trace.kind, BW_TRACE_DECEL);
    assert_non_null(strstr(trace.source, "invented"));
    CHECK_CLOSE(trace.value[trace.n - 1], rows[i].demand, 0.0);
    CHECK_WITHIN(trace.integral[trace.n - 1], 1.5 * 100.0 * KMH, 1e3);
    bw_trace_free(&trace);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(files_agree_with_published_totals),
      cmocka_unit_test(files_agree_with_totals_from_memory),
      cmocka_unit_test(catalogue_and_files_agree),
      cmocka_unit_test(wltc_phases_have_their_lengths),
      cmocka_unit_test(joining_keeps_the_table_deceleration),
      cmocka_unit_test(wheel_energy_of_the_us_schedules),
      cmocka_unit_test(wheel_energy_of_the_european_cycle),
      cmocka_unit_test(names_and_paths_are_told_apart),
      cmocka_unit_test(wrong_names_are_refused),
      cmocka_unit_test(manoeuvres_last_beyond_the_stop),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
