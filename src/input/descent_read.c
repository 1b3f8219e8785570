/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/descent_read.h"

#include "alloc.h"
#include "input/csv.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double KMH_PER_MPS = 3.6;
static const double SHORTEST = 50.0;    /* m; shorter is a stop, not a descent */
static const double LONGEST = 500000.0; /* m */

/* a column of the profile and what it may hold, in its own unit */
struct column {
  const char *name;
  double min;
  double max;
};
enum { DISTANCE, SPEED, GRADE, COLUMNS };
static const struct column COLUMN[COLUMNS] = {
    {"distance_m", 0.0, LONGEST}, {"speed_kmh", 5.0, 200.0}, {"grade_percent", -40.0, 40.0}};

/* times of the places, and the slope taken over */
static enum bw_status fill(const struct bw_descent_points *points, double *time,
                           struct bw_trace *out, struct bw_diag *diag) {
  time[0] = 0.0;
  for (size_t i = 1; i < points->n; i++) {
    const double way = points->distance[i] - points->distance[i - 1];
    time[i] = time[i - 1] + 2.0 * way / (points->speed[i] + points->speed[i - 1]);
  }
  const struct bw_trace_points trace = {BW_TRACE_SPEED, points->n, time, points->speed};
  BW_TRY(bw_trace_make(&trace, 0.0, out, diag));
  out->grade_distance = bw_alloc(points->n, sizeof *out->grade_distance);
  out->grade_sin = bw_alloc(points->n, sizeof *out->grade_sin);
  if (out->grade_distance == NULL || out->grade_sin == NULL) {
    bw_trace_free(out);
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a descent");
  }
  memcpy(out->grade_distance, points->distance, points->n * sizeof *out->grade_distance);
  memcpy(out->grade_sin, points->sine, points->n * sizeof *out->grade_sin);
  out->grade_n = points->n;
  return BW_OK;
}

enum bw_status bw_descent_make(const struct bw_descent_points *points, struct bw_trace *out,
                               struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  double *time = bw_alloc(points->n, sizeof *time);
  if (time == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a descent");
  }
  const enum bw_status status = fill(points, time, out, diag);
  bw_free(time);
  return status;
}

static enum bw_status check_row(const struct bw_csv *csv, const size_t at[COLUMNS], size_t row,
                                struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  const double *cell = &csv->values[row * csv->columns];
  for (size_t j = 0; j < COLUMNS; j++) {
    const double value = cell[at[j]];
    if (!(value >= COLUMN[j].min && value <= COLUMN[j].max)) {
      status = bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[row],
                          "%s %g is out of range; give %g to %g", COLUMN[j].name, value,
                          COLUMN[j].min, COLUMN[j].max);
    }
  }
  if (row == 0 && cell[at[DISTANCE]] > 0.0) {
    status = bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[0],
                        "distance_m starts at %g; let the first row be 0 m", cell[at[DISTANCE]]);
  }
  return status;
}

static enum bw_status check_rise(const struct bw_csv *csv, size_t column, size_t row,
                                 struct bw_diag *diag) {
  const double before = csv->values[(row - 1) * csv->columns + column];
  const double here = csv->values[row * csv->columns + column];
  if (here > before) {
    return BW_OK;
  }
  return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->lines[row],
                    "distance_m %g does not rise above %g; sort the rows and keep each place once",
                    here, before);
}

static enum bw_status check(const struct bw_csv *csv, const size_t at[COLUMNS],
                            struct bw_diag *diag) {
  size_t faults = 0;
  for (size_t row = 0; row < csv->rows && faults < BW_DIAG_LINES; row++) {
    faults += check_row(csv, at, row, diag) == BW_OK ? 0 : 1;
    faults += row > 0 && check_rise(csv, at[DISTANCE], row, diag) != BW_OK ? 1 : 0;
  }
  if (faults > 0) {
    return BW_E_INPUT;
  }
  const double last =
      csv->rows > 0 ? csv->values[(csv->rows - 1) * csv->columns + at[DISTANCE]] : 0.0;
  if (csv->rows < 2 || last < SHORTEST) {
    return bw_fail_at(diag, BW_E_INPUT, csv->path, 0,
                      "a descent of %zu rows over %g m; give at least 2 rows and %g m", csv->rows,
                      last, SHORTEST);
  }
  return BW_OK;
}

static enum bw_status take(const struct bw_csv *csv, struct bw_trace *out, struct bw_diag *diag) {
  const char *known[COLUMNS];
  size_t at[COLUMNS];
  for (size_t j = 0; j < COLUMNS; j++) {
    known[j] = COLUMN[j].name;
  }
  BW_TRY(bw_csv_expect(csv, known, COLUMNS, COLUMNS, diag));
  for (size_t j = 0; j < COLUMNS; j++) {
    at[j] = bw_csv_column(csv, known[j]);
  }
  BW_TRY(check(csv, at, diag));
  double *cell = bw_alloc(csv->rows, COLUMNS * sizeof *cell);
  if (cell == NULL) {
    return bw_fail_at(diag, BW_E_MEMORY, csv->path, 0, "no memory for its %zu rows", csv->rows);
  }
  double *const speed = cell + csv->rows;
  double *const sine = speed + csv->rows;
  for (size_t row = 0; row < csv->rows; row++) {
    const double *value = &csv->values[row * csv->columns];
    cell[row] = value[at[DISTANCE]];
    speed[row] = value[at[SPEED]] / KMH_PER_MPS;
    sine[row] = sin(atan(value[at[GRADE]] / 100.0));
  }
  const struct bw_descent_points points = {csv->rows, cell, speed, sine};
  const enum bw_status status = bw_descent_make(&points, out, diag);
  bw_free(cell);
  return status;
}

enum bw_status bw_descent_read(const char *path, struct bw_trace *out, struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  struct bw_csv csv;
  BW_TRY(bw_csv_read(path, &csv, diag));
  const enum bw_status status = take(&csv, out, diag);
  bw_csv_free(&csv);
  if (status == BW_OK) {
    const char *slash = strrchr(path, '/');
    (void)snprintf(out->name, sizeof out->name, "%.*s", BW_NAME_MAX - 1,
                   slash != NULL ? slash + 1 : path);
  }
  return status;
}
