/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/table_read.h"

#include "alloc.h"
#include "input/csv.h"

#include <string.h>

size_t bw_table_shapes(const char *columns, struct bw_table_shape shapes[BW_SHAPES_MAX]) {
  size_t count = 0;
  memset(shapes, 0, BW_SHAPES_MAX * sizeof *shapes);
  const char *at = columns;
  while (count < BW_SHAPES_MAX && *at != '\0') {
    struct bw_table_shape *shape = &shapes[count];
    const size_t length = strcspn(at, ",|");
    BW_ASSERT(length < BW_COLUMN_NAME && shape->columns < BW_SHAPE_COLUMNS);
    memcpy(shape->name[shape->columns], at, length);
    shape->name[shape->columns][length] = '\0';
    shape->columns++;
    at += length;
    if (*at != ',') {
      count++;
    }
    if (*at != '\0') {
      at++;
    }
  }
  return count;
}

bool bw_table_rows_make(struct bw_table_rows *rows, size_t columns, size_t count) {
  struct bw_table_rows made = {.columns = columns, .count = count};
  made.cell = bw_alloc(count, columns * sizeof *made.cell);
  made.line = bw_alloc(count, sizeof *made.line);
  if (made.cell == NULL || made.line == NULL) {
    bw_table_rows_free(&made);
    return false;
  }
  *rows = made;
  return true;
}

void bw_table_rows_free(struct bw_table_rows *rows) {
  bw_free(rows->cell);
  bw_free(rows->line);
  *rows = (struct bw_table_rows){0};
}

static bool matches(const struct bw_csv *csv, const struct bw_table_shape *shape) {
  for (size_t i = 0; i < shape->columns; i++) {
    if (bw_csv_column(csv, shape->name[i]) >= csv->columns) {
      return false;
    }
  }
  return csv->columns == shape->columns;
}

static enum bw_status take_rows(const struct bw_csv *csv, const struct bw_table_shape *shape,
                                struct bw_table_rows *out, struct bw_diag *diag) {
  if (!bw_table_rows_make(out, shape->columns, csv->rows)) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the table %.300s", csv->path);
  }
  for (size_t j = 0; j < shape->columns; j++) {
    const size_t column = bw_csv_column(csv, shape->name[j]);
    for (size_t i = 0; i < csv->rows; i++) {
      out->cell[i * shape->columns + j] = csv->values[i * csv->columns + column];
    }
  }
  memcpy(out->line, csv->lines, csv->rows * sizeof *out->line);
  return BW_OK;
}

/* no shape fits: say which column is wrong */
static enum bw_status refuse_header(const struct bw_csv *csv, const char *columns,
                                    const struct bw_table_shape *shapes, size_t count,
                                    struct bw_diag *diag) {
  const struct bw_table_shape *full = &shapes[0];
  const char *known[BW_SHAPE_COLUMNS] = {NULL};
  for (size_t i = 0; i < full->columns; i++) {
    known[i] = full->name[i];
  }
  const size_t required = count > 1 ? 0 : full->columns;
  const enum bw_status status = bw_csv_expect(csv, known, full->columns, required, diag);
  if (status != BW_OK) {
    return status;
  }
  return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->header_line,
                    "columns do not make up a table; give '%s'", columns);
}

enum bw_status bw_table_read(const char *path, const char *columns, struct bw_table_rows *out,
                             struct bw_diag *diag) {
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  const size_t count = bw_table_shapes(columns, shapes);
  struct bw_csv csv = {0};
  BW_TRY(bw_csv_read(path, &csv, diag));
  enum bw_status status = BW_E_INPUT;
  size_t fit = 0;
  while (fit < count && !matches(&csv, &shapes[fit])) {
    fit++;
  }
  if (fit < count) {
    status = take_rows(&csv, &shapes[fit], out, diag);
  } else {
    status = refuse_header(&csv, columns, shapes, count, diag);
  }
  bw_csv_free(&csv);
  return status;
}
