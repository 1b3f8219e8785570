/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/strategy_table.h"

#include "alloc.h"
#include "input/param_row.h"
#include "input/unit.h"

#include <stdio.h>
#include <string.h>

/** The axes of a table: the different values of each, rising. */
struct grid {
  size_t axes;
  size_t count[BW_BLEND_TABLE_AXES]; /* BW_STRATEGY_AXIS_MAX + 1 when there are more */
  double axis[BW_BLEND_TABLE_AXES][BW_STRATEGY_AXIS_MAX];
};

/** What a column may hold, by the end of its name. */
struct column_range {
  const char *suffix;
  double min;
  double max;
};

static const struct column_range RANGES[] = {
    {"share", 0.0, 1.0}, {"_percent", 0.0, 100.0}, {"_kmh", 0.0, 500.0}, {"_mps2", 0.0, 30.0}};

static struct column_range range_of(const char *name) {
  const size_t length = strlen(name);
  for (size_t i = 0; i < sizeof RANGES / sizeof RANGES[0]; i++) {
    const size_t n = strlen(RANGES[i].suffix);
    if (n <= length && strcmp(name + length - n, RANGES[i].suffix) == 0) {
      return RANGES[i];
    }
  }
  return (struct column_range){"", -1e12, 1e12};
}

static enum bw_status check_cells(const struct bw_table_rows *rows,
                                  const struct bw_table_check *check,
                                  const struct bw_table_shape *shape, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < rows->count; i++) {
    for (size_t j = 0; j < rows->columns; j++) {
      const struct column_range range = range_of(shape->name[j]);
      const double cell = rows->cell[i * rows->columns + j];
      if (!(cell >= range.min && cell <= range.max)) {
        const char *unit = bw_unit_of_name(shape->name[j])->text;
        status =
            bw_fail_at(diag, BW_E_RANGE, check->file, rows->line[i],
                       "%s: %s of %.15g is out of range; give %.15g to %.15g%s%s", check->key,
                       shape->name[j], cell, range.min, range.max, *unit != '\0' ? " " : "", unit);
      }
    }
  }
  return status;
}

static void find_grid(const struct bw_table_rows *rows, struct grid *grid) {
  grid->axes = rows->columns - 1;
  BW_ASSERT(grid->axes >= 1 && grid->axes <= BW_BLEND_TABLE_AXES);
  for (size_t d = 0; d < BW_BLEND_TABLE_AXES; d++) {
    grid->count[d] =
        d < grid->axes ? bw_table_distinct(rows, d, BW_STRATEGY_AXIS_MAX, grid->axis[d]) : 1;
  }
}

static size_t points_of(const struct grid *grid) {
  return grid->count[0] * grid->count[1] * grid->count[2];
}

/* index of a row's point, the last axis running fastest */
static size_t point_of(const struct grid *grid, const double *cell) {
  size_t at = 0;
  for (size_t d = 0; d < grid->axes; d++) {
    at = at * grid->count[d] + bw_table_place_of(grid->axis[d], grid->count[d], cell[d]);
  }
  return at;
}

/* 'speed_kmh 30, soc_percent 80' */
static void name_point(const struct grid *grid, const struct bw_table_shape *shape, size_t point,
                       char *text, size_t size) {
  size_t index[BW_BLEND_TABLE_AXES];
  for (size_t d = grid->axes; d-- > 0; point /= grid->count[d]) {
    index[d] = point % grid->count[d];
  }
  size_t used = 0;
  text[0] = '\0';
  for (size_t d = 0; d < grid->axes && used < size; d++) {
    const int n = snprintf(text + used, size - used, "%s%s %.15g", d > 0 ? ", " : "",
                           shape->name[d], grid->axis[d][index[d]]);
    used += n > 0 ? (size_t)n : 0;
  }
}

/* `is_there` holds a zero for every point of the grid */
static enum bw_status check_points(const struct bw_table_rows *rows,
                                   const struct bw_table_check *check,
                                   const struct bw_table_shape *shape, const struct grid *grid,
                                   bool *is_there, struct bw_diag *diag) {
  char text[160];
  for (size_t i = 0; i < rows->count; i++) {
    const size_t point = point_of(grid, &rows->cell[i * rows->columns]);
    if (is_there[point]) {
      name_point(grid, shape, point, text, sizeof text);
      return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[i],
                        "%s: %s stands there twice; keep one of the rows", check->key, text);
    }
    is_there[point] = true;
  }
  for (size_t point = 0; point < points_of(grid); point++) {
    if (!is_there[point]) {
      name_point(grid, shape, point, text, sizeof text);
      return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[rows->count - 1],
                        "%s: the row for %s is missing; give the full grid", check->key, text);
    }
  }
  return BW_OK;
}

enum bw_status bw_strategy_table_check(const struct bw_table_rows *rows,
                                       const struct bw_table_check *check, struct bw_diag *diag) {
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  (void)bw_table_shapes(check->columns, shapes);
  BW_ASSERT(shapes[0].columns == rows->columns && rows->count > 0);
  BW_TRY(check_cells(rows, check, &shapes[0], diag));
  struct grid grid;
  find_grid(rows, &grid);
  for (size_t d = 0; d < grid.axes; d++) {
    if (grid.count[d] > BW_STRATEGY_AXIS_MAX) {
      return bw_fail_at(diag, BW_E_INPUT, check->file, rows->line[0],
                        "%s: too many different values of %s; give at most %d", check->key,
                        shapes[0].name[d], (int)BW_STRATEGY_AXIS_MAX);
    }
  }
  bool *is_there = bw_alloc(points_of(&grid), sizeof *is_there);
  if (is_there == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a table");
  }
  const enum bw_status status = check_points(rows, check, &shapes[0], &grid, is_there, diag);
  bw_free(is_there);
  return status;
}

static bool is_strategy_table(const struct bw_param_values *values, size_t index) {
  const struct bw_param_row *row = bw_param_row_at(values->table, index);
  return row->param.kind == BW_PARAM_TABLE && row->store == BW_STORE_NONE &&
         values->value[index].rows.count > 0;
}

/* one table with its numbers from *room on, which moves behind them */
static struct bw_blend_table make_table(const struct bw_param_values *values, size_t index,
                                        double **room) {
  const struct bw_table_rows *rows = &values->value[index].rows;
  struct grid grid;
  find_grid(rows, &grid);
  struct bw_blend_table table = {
      .name = bw_param_at(values->table, index)->key + strlen("strategy."), .axes = grid.axes};
  for (size_t d = 0; d < BW_BLEND_TABLE_AXES; d++) {
    table.count[d] = grid.count[d];
    if (d < grid.axes) {
      memcpy(*room, grid.axis[d], grid.count[d] * sizeof **room);
      table.axis[d] = *room;
      *room += grid.count[d];
    }
  }
  for (size_t i = 0; i < rows->count; i++) {
    const double *cell = &rows->cell[i * rows->columns];
    (*room)[point_of(&grid, cell)] = cell[grid.axes];
  }
  table.values = *room;
  *room += rows->count;
  return table;
}

enum bw_status bw_strategy_tables_keep(const struct bw_param_values *values, struct bw_case *target,
                                       struct bw_diag *diag) {
  size_t count = 0;
  size_t numbers = 0;
  for (size_t i = 0; i < bw_param_count(values->table); i++) {
    if (is_strategy_table(values, i)) {
      count++;
      numbers += values->value[i].rows.count + (size_t)BW_BLEND_TABLE_AXES * BW_STRATEGY_AXIS_MAX;
    }
  }
  if (count == 0) {
    return BW_OK;
  }
  target->tables = bw_alloc(count, sizeof *target->tables);
  target->table_numbers = bw_alloc(numbers, sizeof *target->table_numbers);
  if (target->tables == NULL || target->table_numbers == NULL) {
    bw_strategy_tables_free(target);
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the strategies' tables");
  }
  double *room = target->table_numbers;
  for (size_t i = 0; i < bw_param_count(values->table); i++) {
    if (is_strategy_table(values, i)) {
      target->tables[target->table_count++] = make_table(values, i, &room);
    }
  }
  return BW_OK;
}

void bw_strategy_tables_free(struct bw_case *target) {
  bw_free(target->tables);
  bw_free(target->table_numbers);
  target->tables = NULL;
  target->table_numbers = NULL;
  target->table_count = 0;
}
