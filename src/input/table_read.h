/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TABLE_READ_H
#define BW_TABLE_READ_H

#include "model/table.h"
#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Tables as people give them: rows of numbers under named columns, from a CSV file or typed
 *  into the case, and their way into the model's tables. */

enum { BW_SHAPE_COLUMNS = 4, BW_SHAPES_MAX = 2, BW_COLUMN_NAME = 32 };

/** One way to give a table: its columns in order. */
struct bw_table_shape {
  size_t columns;
  char name[BW_SHAPE_COLUMNS][BW_COLUMN_NAME];
};

/** Split 'a,b,c|a,c' into shapes, the fullest first; returns how many. */
size_t bw_table_shapes(const char *columns, struct bw_table_shape shapes[BW_SHAPES_MAX]);

/** Rows in edge units. Owned; zeroed is empty. */
struct bw_table_rows {
  size_t columns;
  size_t count;
  double *cell; /**< (count x columns), columns in the order of the shape */
  int *line;    /**< (count) */
};

/** Make room for `count` rows of `columns`. False without memory. */
bool bw_table_rows_make(struct bw_table_rows *rows, size_t columns, size_t count);

/** Free and zero. */
void bw_table_rows_free(struct bw_table_rows *rows);

/** Rows of the CSV file `path`, whose header must be one of the shapes of `columns` in any
 *  order. Faults are reported at their line. *out must be empty, stays so on error. */
BW_MUST_CHECK enum bw_status bw_table_read(const char *path, const char *columns,
                                           struct bw_table_rows *out, struct bw_diag *diag);

/** What a table is checked for. */
struct bw_table_check {
  const char *key;     /**< parameter, for messages */
  const char *columns; /**< shapes */
  const char *file;    /**< where the rows stand */
  bool is_grid;        /**< three columns mean a full grid over the first two */
};

/** Check ranges, order and completeness of `rows`. All faults are reported. */
BW_MUST_CHECK enum bw_status bw_table_check(const struct bw_table_rows *rows,
                                            const struct bw_table_check *check,
                                            struct bw_diag *diag);

/** Place of `x` among `count` rising values, or where it would stand. */
size_t bw_table_place_of(const double *values, size_t count, double x);

/** Distinct values of a column, rising, into values[most]; their number, `most` + 1 when there are
 *  more. */
size_t bw_table_distinct(const struct bw_table_rows *rows, size_t column, size_t most,
                         double *values);

/** Checked rows to SI: column `y` over column 0. */
BW_MUST_CHECK enum bw_status bw_table_to_1d(const struct bw_table_rows *rows, const char *columns,
                                            size_t y, struct bw_table1 *out, struct bw_diag *diag);

/** Checked rows to SI: last column over the first two, or over the one that is given. */
BW_MUST_CHECK enum bw_status bw_table_to_2d(const struct bw_table_rows *rows, const char *columns,
                                            struct bw_table2 *out, struct bw_diag *diag);

#endif
