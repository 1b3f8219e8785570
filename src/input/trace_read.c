/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/trace.h"

#include "alloc.h"
#include "input/csv.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double KMH_PER_MPH = 1.609344;
static const double MPH_AGREE_KMH = 0.01; /* km/h, above any rounding of a published table */
static const double GAP_FACTOR = 10.0;    /* a step this many median steps long lacks rows */
static const double GRADE_PERCENT_MAX = 40.0;
static const double TIME_MAX = 1e7; /* s, 116 days; what is longer has another unit */
/* s and m between two rows: less is no measurement, and a slope over it no number */
static const double TIME_STEP_MIN = 1e-9;
static const double WAY_STEP_MIN = 1e-9;

/** What a trace can hold as its value, at the edge. */
struct value_column {
  const char *name;
  enum bw_trace_kind kind;
  double max;    /* edge unit; the least is 0 */
  double per_si; /* edge units in one SI unit */
  const char *range;
};
static const struct value_column VALUE_COLUMNS[] = {
    {"speed_kmh", BW_TRACE_SPEED, 500.0, 3.6, "0 to 500 km/h"},
    {"decel_mps2", BW_TRACE_DECEL, 15.0, 1.0, "0 to 15 m/s2"},
    {"pedal_percent", BW_TRACE_PEDAL, 100.0, 100.0, "0 to 100 %"},
};
enum { VALUE_COLUMN_COUNT = sizeof VALUE_COLUMNS / sizeof VALUE_COLUMNS[0] };

/** A file under judgement. */
struct judge {
  const struct bw_csv *csv;
  const struct value_column *what;
  struct bw_diag *diag;
  size_t faults;
  size_t time; /* column indices; csv->columns where there is none */
  size_t value;
  size_t grade;
  size_t mph;
};

static double cell(const struct judge *judge, size_t row, size_t column) {
  return judge->csv->values[row * judge->csv->columns + column];
}

static bool has(const struct judge *judge, size_t column) {
  return column < judge->csv->columns;
}

static void note(struct judge *judge, enum bw_status status) {
  judge->faults += status == BW_OK ? 0 : 1;
}

/* ------------------------------------------------------------------ columns */

static enum bw_status choose_value(struct judge *judge) {
  const struct bw_csv *csv = judge->csv;
  size_t found = 0;
  for (size_t i = 0; i < VALUE_COLUMN_COUNT; i++) {
    const size_t column = bw_csv_column(csv, VALUE_COLUMNS[i].name);
    if (column < csv->columns) {
      judge->what = &VALUE_COLUMNS[i];
      judge->value = column;
      found++;
    }
  }
  if (found != 1) {
    (void)bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->header_line,
                     "%s; give exactly one of speed_kmh, decel_mps2, pedal_percent beside time_s",
                     found == 0 ? "value column is missing" : "more than one value column");
    return BW_E_INPUT;
  }
  judge->grade = bw_csv_column(csv, "grade_percent");
  judge->mph = bw_csv_column(csv, "speed_mph");
  const bool has_companion = has(judge, judge->grade) || has(judge, judge->mph);
  if (has_companion && judge->what->kind != BW_TRACE_SPEED) {
    return bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->header_line,
                      "column '%s' goes with speed_kmh only; take it out",
                      has(judge, judge->grade) ? "grade_percent" : "speed_mph");
  }
  return BW_OK;
}

static enum bw_status choose_columns(struct judge *judge) {
  static const char *const known[] = {"time_s",        "speed_kmh",     "decel_mps2",
                                      "pedal_percent", "grade_percent", "speed_mph"};
  BW_TRY(bw_csv_expect(judge->csv, known, sizeof known / sizeof known[0], 1, judge->diag));
  judge->time = bw_csv_column(judge->csv, "time_s");
  return choose_value(judge);
}

/* ------------------------------------------------------------------ rows */

static enum bw_status check_time(const struct judge *judge, size_t row) {
  const struct bw_csv *csv = judge->csv;
  const double time = cell(judge, row, judge->time);
  if (row == 0) {
    return fabs(time) > 0.0 ? bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[0],
                                         "time_s starts at %g; let the first row be 0 s", time)
                            : BW_OK;
  }
  if (time > TIME_MAX) {
    return bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[row],
                      "time_s %.9g is above %g s; give seconds from the start", time, TIME_MAX);
  }
  const double before = cell(judge, row - 1, judge->time);
  if (time > before && time - before < TIME_STEP_MIN) {
    return bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[row],
                      "time_s rises by %g s only; give rows at least %g s apart", time - before,
                      TIME_STEP_MIN);
  }
  if (time > before) {
    return BW_OK;
  }
  return bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[row],
                    "time_s %s at %g after %g; time must rise from row to row",
                    time < before ? "runs backwards" : "stands still", time, before);
}

static enum bw_status check_value(const struct judge *judge, size_t row) {
  const double value = cell(judge, row, judge->value);
  if (value >= 0.0 && value <= judge->what->max) {
    return BW_OK;
  }
  return bw_fail_at(judge->diag, BW_E_INPUT, judge->csv->path, judge->csv->lines[row],
                    "%s %g is %s; give %s", judge->what->name, value,
                    value < 0.0 ? "negative" : "too large", judge->what->range);
}

static enum bw_status check_mph(const struct judge *judge, size_t row) {
  const double mph = cell(judge, row, judge->mph);
  const double kmh = cell(judge, row, judge->value);
  if (fabs(mph * KMH_PER_MPH - kmh) <= MPH_AGREE_KMH) {
    return BW_OK;
  }
  return bw_fail_at(judge->diag, BW_E_INPUT, judge->csv->path, judge->csv->lines[row],
                    "speed_mph %g is %.4f km/h but speed_kmh is %g; correct one or take speed_mph "
                    "out",
                    mph, mph * KMH_PER_MPH, kmh);
}

static enum bw_status check_grade(const struct bw_csv *csv, size_t row, double percent,
                                  struct bw_diag *diag) {
  if (fabs(percent) <= GRADE_PERCENT_MAX) {
    return BW_OK;
  }
  return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[row],
                    "grade_percent %g is too steep; give -40 to 40 %%", percent);
}

static void check_rows(struct judge *judge) {
  for (size_t row = 0; row < judge->csv->rows && judge->faults < BW_DIAG_LINES; row++) {
    note(judge, check_time(judge, row));
    const enum bw_status value = check_value(judge, row);
    note(judge, value);
    if (value == BW_OK && has(judge, judge->mph)) {
      note(judge, check_mph(judge, row));
    }
    if (has(judge, judge->grade)) {
      note(judge, check_grade(judge->csv, row, cell(judge, row, judge->grade), judge->diag));
    }
  }
}

static int compare_doubles(const void *a, const void *b) {
  const double x = *(const double *)a;
  const double y = *(const double *)b;
  return (x > y) - (x < y);
}

/** Rows lost in a speed trace show as one step far above the median (upper one of two). */
static enum bw_status check_gaps(struct judge *judge) {
  const struct bw_csv *csv = judge->csv;
  const size_t steps = csv->rows - 1;
  double *sorted = bw_alloc(steps, sizeof *sorted);
  if (sorted == NULL) {
    return bw_fail_at(judge->diag, BW_E_MEMORY, csv->path, 0, "no memory for its %zu rows",
                      csv->rows);
  }
  for (size_t i = 0; i < steps; i++) {
    sorted[i] = cell(judge, i + 1, judge->time) - cell(judge, i, judge->time);
  }
  qsort(sorted, steps, sizeof *sorted, compare_doubles);
  const double median = sorted[steps / 2];
  bw_free(sorted);
  for (size_t i = 0; i < steps && judge->faults < BW_DIAG_LINES; i++) {
    const double before = cell(judge, i, judge->time);
    const double step = cell(judge, i + 1, judge->time) - before;
    if (step > GAP_FACTOR * median) {
      note(judge, bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[i + 1],
                             "gap of %g s after time_s %g, the usual step is %g s; fill in the "
                             "missing rows",
                             step, before, median));
    }
  }
  return BW_OK;
}

static enum bw_status judge_rows(struct judge *judge) {
  const struct bw_csv *csv = judge->csv;
  if (csv->rows < 2) {
    return bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[0],
                      "only one row; give at least 2");
  }
  check_rows(judge);
  if (judge->faults == 0 && judge->what->kind == BW_TRACE_SPEED) {
    BW_TRY(check_gaps(judge));
  }
  return judge->faults == 0 ? BW_OK : BW_E_INPUT;
}

/* ------------------------------------------------------------------ slope */

/** Sine of a slope given as its tangent in percent. */
static double grade_sine(double percent) {
  return sin(atan(percent / 100.0));
}

static enum bw_status make_room_for_grade(struct bw_trace *trace, const struct bw_csv *csv,
                                          struct bw_diag *diag) {
  trace->grade_distance = bw_alloc(csv->rows, sizeof *trace->grade_distance);
  trace->grade_sin = bw_alloc(csv->rows, sizeof *trace->grade_sin);
  if (trace->grade_distance != NULL && trace->grade_sin != NULL) {
    return BW_OK;
  }
  bw_free(trace->grade_distance);
  bw_free(trace->grade_sin);
  trace->grade_distance = NULL;
  trace->grade_sin = NULL;
  (void)bw_fail_at(diag, BW_E_MEMORY, csv->path, 0, "no memory for its %zu rows", csv->rows);
  return BW_E_MEMORY;
}

/** Slope per time to slope against the trace's own distance; rows at standstill fold into one. */
static enum bw_status convert_grade(struct judge *judge, struct bw_trace *trace) {
  const struct bw_csv *csv = judge->csv;
  BW_TRY(make_room_for_grade(trace, csv, judge->diag));
  size_t n = 0;
  double before = 0.0;
  for (size_t row = 0; row < csv->rows && judge->faults < BW_DIAG_LINES; row++) {
    const double percent = cell(judge, row, judge->grade);
    const double distance = trace->integral[row];
    const bool is_standing = n > 0 && distance - trace->grade_distance[n - 1] < WAY_STEP_MIN;
    if (is_standing && fabs(percent - before) > 0.0) {
      note(judge, bw_fail_at(judge->diag, BW_E_INPUT, csv->path, csv->lines[row],
                             "grade_percent changes from %g to %g while the car stands; move the "
                             "change to a row behind which it has moved",
                             before, percent));
    } else if (!is_standing) {
      trace->grade_distance[n] = distance;
      trace->grade_sin[n] = grade_sine(percent);
      n++;
    }
    before = percent;
  }
  trace->grade_n = n;
  return judge->faults == 0 ? BW_OK : BW_E_INPUT;
}

static enum bw_status check_distance(const struct bw_csv *csv, size_t row, size_t column,
                                     struct bw_diag *diag) {
  const double distance = csv->values[row * csv->columns + column];
  if (row == 0) {
    return fabs(distance) > 0.0
               ? bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[0],
                            "distance_m starts at %g; let the first row be 0 m", distance)
               : BW_OK;
  }
  const double before = csv->values[(row - 1) * csv->columns + column];
  if (distance > before && distance - before < WAY_STEP_MIN) {
    return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[row],
                      "distance_m rises by %g m only; give rows at least %g m apart",
                      distance - before, WAY_STEP_MIN);
  }
  if (distance > before) {
    return BW_OK;
  }
  return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[row],
                    "distance_m %g does not rise above %g; sort the rows and keep each place once",
                    distance, before);
}

static enum bw_status check_profile(const struct bw_csv *csv, struct bw_diag *diag) {
  const size_t distance = bw_csv_column(csv, "distance_m");
  const size_t grade = bw_csv_column(csv, "grade_percent");
  size_t faults = 0;
  for (size_t row = 0; row < csv->rows && faults < BW_DIAG_LINES; row++) {
    const double percent = csv->values[row * csv->columns + grade];
    faults += check_distance(csv, row, distance, diag) == BW_OK ? 0 : 1;
    faults += check_grade(csv, row, percent, diag) == BW_OK ? 0 : 1;
  }
  return faults == 0 ? BW_OK : BW_E_INPUT;
}

static enum bw_status take_profile(const struct bw_csv *csv, struct bw_trace *trace,
                                   struct bw_diag *diag) {
  static const char *const known[] = {"distance_m", "grade_percent"};
  BW_TRY(bw_csv_expect(csv, known, 2, 2, diag));
  BW_TRY(check_profile(csv, diag));
  if (trace->grade_n > 0) {
    return bw_fail_at(diag, BW_E_INPUT, csv->path, 0,
                      "slope profile given beside a grade_percent column in the trace '%.100s'; "
                      "take one out",
                      trace->name);
  }
  BW_TRY(make_room_for_grade(trace, csv, diag));
  const size_t distance = bw_csv_column(csv, "distance_m");
  const size_t grade = bw_csv_column(csv, "grade_percent");
  for (size_t row = 0; row < csv->rows; row++) {
    trace->grade_distance[row] = csv->values[row * csv->columns + distance];
    trace->grade_sin[row] = grade_sine(csv->values[row * csv->columns + grade]);
  }
  trace->grade_n = csv->rows;
  return BW_OK;
}

enum bw_status bw_trace_read_grade(const char *path, struct bw_trace *trace, struct bw_diag *diag) {
  struct bw_csv csv;
  BW_TRY(bw_csv_read(path, &csv, diag));
  const enum bw_status status = take_profile(&csv, trace, diag);
  bw_csv_free(&csv);
  return status;
}

/* ------------------------------------------------------------------ trace */

/** Points in SI units into *out, which owns nothing on error. */
static enum bw_status convert_points(const struct judge *judge, double box, struct bw_trace *out) {
  const struct bw_csv *csv = judge->csv;
  double *points = bw_alloc(csv->rows, 2 * sizeof *points);
  if (points == NULL) {
    return bw_fail_at(judge->diag, BW_E_MEMORY, csv->path, 0, "no memory for its %zu rows",
                      csv->rows);
  }
  double *time = points;
  double *value = points + csv->rows;
  for (size_t row = 0; row < csv->rows; row++) {
    time[row] = cell(judge, row, judge->time);
    value[row] = cell(judge, row, judge->value) / judge->what->per_si;
  }
  const struct bw_trace_points in = {judge->what->kind, csv->rows, time, value};
  const enum bw_status status = bw_trace_make(&in, box, out, judge->diag);
  bw_free(points);
  return status;
}

static enum bw_status take_trace(const struct bw_csv *csv, double box, struct bw_trace *out,
                                 struct bw_diag *diag) {
  struct judge judge = {.csv = csv, .diag = diag};
  BW_TRY(choose_columns(&judge));
  BW_TRY(judge_rows(&judge));
  BW_TRY(convert_points(&judge, box, out));
  const enum bw_status status = has(&judge, judge.grade) ? convert_grade(&judge, out) : BW_OK;
  if (status != BW_OK) {
    bw_trace_free(out);
    return status;
  }
  const char *slash = strrchr(csv->path, '/');
  (void)snprintf(out->name, sizeof out->name, "%.*s", BW_NAME_MAX - 1,
                 slash != NULL ? slash + 1 : csv->path);
  (void)snprintf(out->source, sizeof out->source, "%s", csv->comment);
  return BW_OK;
}

enum bw_status bw_trace_read(const char *path, double box, struct bw_trace *out,
                             struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  struct bw_csv csv;
  BW_TRY(bw_csv_read(path, &csv, diag));
  const enum bw_status status = take_trace(&csv, box, out, diag);
  bw_csv_free(&csv);
  return status;
}
