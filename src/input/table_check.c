/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/table_read.h"
#include "input/unit.h"

#include <math.h>
#include <string.h>

/* in the unit of any column: closer places are no measurement, and a slope between them no number
 */
static const double PLACE_STEP_MIN = 1e-9;

/** What a cell of a column may hold, in the unit of the column's suffix. */
struct column_range {
  const char *name;
  double min;
  double max;
};

static const struct column_range COLUMNS[] = {
    {"speed_rpm", 0.0, 40000.0},    {"torque_nm", 0.0, 5000.0},    {"loss_w", 0.0, 500000.0},
    {"soc_percent", 0.0, 100.0},    {"voltage_v", 1.0, 1500.0},    {"temperature_c", -60.0, 1500.0},
    {"resistance_mohm", 0.01, 1e5}, {"continuous_a", 0.0, 5000.0}, {"pulse_a", 0.0, 5000.0},
    {"friction", 0.01, 1.5},        {"distance_m", 0.0, 1e6},      {"adhesion", 0.02, 1.5},
    {"adhesion_left", 0.02, 1.5},   {"adhesion_right", 0.02, 1.5},
};

static const struct column_range *range_of(const char *name) {
  for (size_t i = 0; i < sizeof COLUMNS / sizeof COLUMNS[0]; i++) {
    if (strcmp(COLUMNS[i].name, name) == 0) {
      return &COLUMNS[i];
    }
  }
  return NULL;
}

static const struct bw_table_shape *shape_of(const struct bw_table_rows *rows,
                                             const struct bw_table_shape *shapes, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (shapes[i].columns == rows->columns) {
      return &shapes[i];
    }
  }
  return NULL;
}

static enum bw_status check_cells(const struct bw_table_rows *rows,
                                  const struct bw_table_check *check,
                                  const struct bw_table_shape *shape, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t j = 0; j < rows->columns; j++) {
    const struct column_range *range = range_of(shape->name[j]);
    BW_ASSERT(range != NULL);
    const char *unit = bw_unit_of_name(shape->name[j])->text;
    for (size_t i = 0; i < rows->count; i++) {
      const double cell = rows->cell[i * rows->columns + j];
      if (!(cell >= range->min && cell <= range->max)) {
        status = bw_fail_at(diag, BW_E_RANGE, check->file, rows->line[i],
                            "%s: %s of %.15g is out of range; give %.15g to %.15g %s", check->key,
                            shape->name[j], cell, range->min, range->max, unit);
      }
    }
  }
  return status;
}

static enum bw_status check_rising(const struct bw_table_rows *rows,
                                   const struct bw_table_check *check, const char *name,
                                   struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  const size_t most = check->is_grid ? BW_TABLE2_MAX : BW_TABLE1_MAX;
  if (rows->count > most) {
    return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[0],
                      "%s: %zu rows are too many; give at most %zu", check->key, rows->count, most);
  }
  for (size_t i = 1; i < rows->count; i++) {
    const double before = rows->cell[(i - 1) * rows->columns];
    const double here = rows->cell[i * rows->columns];
    if (here > before && here - before < PLACE_STEP_MIN) {
      status = bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[i],
                          "%s: %s %.17g is too close to %.17g of the row before; keep them at "
                          "least %g apart",
                          check->key, name, here, before, PLACE_STEP_MIN);
    } else if (!(here > before)) {
      status = bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[i],
                          "%s: %s %.15g does not rise above %.15g of the row before; sort the rows",
                          check->key, name, here, before);
    }
  }
  return status;
}

size_t bw_table_place_of(const double *values, size_t count, double x) {
  size_t at = 0;
  while (at < count && values[at] < x) {
    at++;
  }
  return at;
}

size_t bw_table_distinct(const struct bw_table_rows *rows, size_t column, size_t most,
                         double *values) {
  size_t count = 0;
  for (size_t i = 0; i < rows->count; i++) {
    const double x = rows->cell[i * rows->columns + column];
    const size_t at = bw_table_place_of(values, count, x);
    if (at < count && values[at] <= x) {
      continue;
    }
    if (count == most) {
      return most + 1;
    }
    memmove(&values[at + 1], &values[at], (count - at) * sizeof *values);
    values[at] = x;
    count++;
  }
  return count;
}

/* `n` different values of a column, rising */
static enum bw_status check_places(const struct bw_table_rows *rows,
                                   const struct bw_table_check *check, const char *name,
                                   const double *x, size_t n, struct bw_diag *diag) {
  for (size_t i = 1; i < n; i++) {
    if (x[i] - x[i - 1] < PLACE_STEP_MIN) {
      return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[0],
                        "%s: %s has %.17g and %.17g, too close; keep them the same or at least %g "
                        "apart",
                        check->key, name, x[i - 1], x[i], PLACE_STEP_MIN);
    }
  }
  return BW_OK;
}

static enum bw_status check_grid(const struct bw_table_rows *rows,
                                 const struct bw_table_check *check,
                                 const struct bw_table_shape *shape, struct bw_diag *diag) {
  double x[BW_TABLE2_MAX];
  double y[BW_TABLE2_MAX];
  const size_t nx = bw_table_distinct(rows, 0, BW_TABLE2_MAX, x);
  const size_t ny = bw_table_distinct(rows, 1, BW_TABLE2_MAX, y);
  if (nx > BW_TABLE2_MAX || ny > BW_TABLE2_MAX) {
    return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[0],
                      "%s: too many different values of %s; give at most %d", check->key,
                      shape->name[nx > BW_TABLE2_MAX ? 0 : 1], (int)BW_TABLE2_MAX);
  }
  BW_TRY(check_places(rows, check, shape->name[0], x, nx, diag));
  BW_TRY(check_places(rows, check, shape->name[1], y, ny, diag));
  bool is_there[BW_TABLE2_MAX * BW_TABLE2_MAX] = {false};
  for (size_t i = 0; i < rows->count; i++) {
    const double *cell = &rows->cell[i * rows->columns];
    const size_t at = bw_table_place_of(x, nx, cell[0]) * ny + bw_table_place_of(y, ny, cell[1]);
    if (is_there[at]) {
      return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[i],
                        "%s: %s %.15g, %s %.15g stands there twice; keep one of the rows",
                        check->key, shape->name[0], cell[0], shape->name[1], cell[1]);
    }
    is_there[at] = true;
  }
  for (size_t at = 0; at < nx * ny; at++) {
    if (!is_there[at]) {
      return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[rows->count - 1],
                        "%s: the row for %s %.15g, %s %.15g is missing; give the full grid",
                        check->key, shape->name[0], x[at / ny], shape->name[1], y[at % ny]);
    }
  }
  return BW_OK;
}

enum bw_status bw_table_check(const struct bw_table_rows *rows, const struct bw_table_check *check,
                              struct bw_diag *diag) {
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  const size_t count = bw_table_shapes(check->columns, shapes);
  const struct bw_table_shape *shape = shape_of(rows, shapes, count);
  BW_ASSERT(shape != NULL && rows->count > 0);
  const enum bw_status cells = check_cells(rows, check, shape, diag);
  if (cells != BW_OK) {
    return cells;
  }
  if (check->is_grid && rows->columns == 3) {
    return check_grid(rows, check, shape, diag);
  }
  return check_rising(rows, check, shape->name[0], diag);
}

enum bw_status bw_table_to_1d(const struct bw_table_rows *rows, const char *columns, size_t y,
                              struct bw_table1 *out, struct bw_diag *diag) {
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  (void)bw_table_shapes(columns, shapes);
  const struct bw_unit *x_unit = bw_unit_of_name(shapes[0].name[0]);
  const struct bw_unit *y_unit = bw_unit_of_name(shapes[0].name[y]);
  double x[BW_TABLE1_MAX];
  double values[BW_TABLE1_MAX];
  BW_ASSERT(rows->count <= BW_TABLE1_MAX);
  for (size_t i = 0; i < rows->count; i++) {
    x[i] = bw_unit_to_si(x_unit, rows->cell[i * rows->columns]);
    values[i] = bw_unit_to_si(y_unit, rows->cell[i * rows->columns + y]);
  }
  return bw_table1_make(x, values, rows->count, out, diag);
}

static void to_si(double *values, size_t count, const char *name) {
  const struct bw_unit *unit = bw_unit_of_name(name);
  for (size_t i = 0; i < count; i++) {
    values[i] = bw_unit_to_si(unit, values[i]);
  }
}

/* two columns: one axis has the single place 0 */
static void line_grid(const struct bw_table_rows *rows, double *axis, double *z) {
  for (size_t i = 0; i < rows->count; i++) {
    axis[i] = rows->cell[2 * i];
    z[i] = rows->cell[2 * i + 1];
  }
}

enum bw_status bw_table_to_2d(const struct bw_table_rows *rows, const char *columns,
                              struct bw_table2 *out, struct bw_diag *diag) {
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  const size_t count = bw_table_shapes(columns, shapes);
  const struct bw_table_shape *full = &shapes[0];
  const struct bw_table_shape *shape = shape_of(rows, shapes, count);
  BW_ASSERT(shape != NULL);
  double x[BW_TABLE2_MAX] = {0.0};
  double y[BW_TABLE2_MAX] = {0.0};
  double z[BW_TABLE2_MAX * BW_TABLE2_MAX] = {0.0};
  size_t nx = 1;
  size_t ny = 1;
  if (shape == full) {
    nx = bw_table_distinct(rows, 0, BW_TABLE2_MAX, x);
    ny = bw_table_distinct(rows, 1, BW_TABLE2_MAX, y);
    BW_ASSERT(nx <= BW_TABLE2_MAX && ny <= BW_TABLE2_MAX);
    for (size_t i = 0; i < rows->count; i++) {
      const double *cell = &rows->cell[i * rows->columns];
      z[bw_table_place_of(x, nx, cell[0]) * ny + bw_table_place_of(y, ny, cell[1])] = cell[2];
    }
    to_si(x, nx, full->name[0]);
    to_si(y, ny, full->name[1]);
  } else {
    BW_ASSERT(rows->count <= BW_TABLE2_MAX);
    const bool is_over_x = strcmp(shape->name[0], full->name[0]) == 0;
    line_grid(rows, is_over_x ? x : y, z);
    nx = is_over_x ? rows->count : 1;
    ny = is_over_x ? 1 : rows->count;
    to_si(is_over_x ? x : y, rows->count, shape->name[0]);
  }
  to_si(z, nx * ny, full->name[2]);
  return bw_table2_make(x, nx, y, ny, z, out, diag);
}
