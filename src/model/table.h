/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TABLE_H
#define BW_TABLE_H

#include "status.h"

#include <stddef.h>

enum { BW_TABLE1_MAX = 128, BW_TABLE2_MAX = 48 };

/** y over x, straight lines between the points, held constant outside them.
 *  A plain value. Empty (n = 0) means 'not given'. Fill with bw_table1_make(). */
struct bw_table1 {
  size_t n;
  double x[BW_TABLE1_MAX]; /**< strictly rising */
  double y[BW_TABLE1_MAX];
  double slope[BW_TABLE1_MAX];    /**< (n - 1), prepared by make */
  double integral[BW_TABLE1_MAX]; /**< of y from x[0] to x[i], prepared by make */
};

/** Check and copy n points. BW_E_RANGE when n is 0 or above BW_TABLE1_MAX, a value is not finite
 *  or x does not rise strictly; *out is then untouched. */
BW_MUST_CHECK enum bw_status bw_table1_make(const double *x, const double *y, size_t n,
                                            struct bw_table1 *out, struct bw_diag *diag);

/** Value at x; the end values outside; NaN in gives the first value. Table must not be empty. */
double bw_table1_at(const struct bw_table1 *table, double x);

/** Integral of the table from its first x to `x`, with the end values held outside. */
double bw_table1_integral(const struct bw_table1 *table, double x);

/** Index of the last point at or below x; 0 below the table. Points and slopes of that index give
 *  the straight line to the next point (none after the last: held). */
size_t bw_table1_segment(const struct bw_table1 *table, double x);

/** The same, found at once when it is `hint`; any `hint` will do. */
static inline size_t bw_table1_segment_near(const struct bw_table1 *table, size_t hint, double x) {
  const bool is_there = hint + 1 < table->n && table->x[hint] < x && x < table->x[hint + 1];
  return is_there ? hint : bw_table1_segment(table, x);
}

/** Value at x, whose segment is known: bw_table1_at() without the search. */
static inline double bw_table1_on(const struct bw_table1 *table, size_t segment, double x) {
  const double into = x - table->x[segment];
  /* held below the first point; the last one has no slope */
  return into > 0.0 ? table->y[segment] + table->slope[segment] * into : table->y[segment];
}

/** Mean of the table over `from` .. `from + width`, `width` of either sign; the value at `from`
 *  when the width is 0. Exact, and free of the cancellation that a difference of two integrals
 *  suffers when the width is small. */
double bw_table1_mean(const struct bw_table1 *table, double from, double width);

/** z over (x, y), bilinear, held constant outside. z[i * ny + j] belongs to x[i], y[j]. */
struct bw_table2 {
  size_t nx; /**< 0: not given */
  size_t ny;
  double x[BW_TABLE2_MAX];
  double y[BW_TABLE2_MAX];
  double z[BW_TABLE2_MAX * BW_TABLE2_MAX]; /**< (nx x ny) */
  double per_x[BW_TABLE2_MAX];             /**< (nx - 1) 1 / width, prepared by make */
  double per_y[BW_TABLE2_MAX];             /**< (ny - 1) 1 / width, prepared by make */
};

/** Where a value lies on an axis: between points `low` and `high`, `share` of the way; outside
 *  both name the end point. */
struct bw_table_place {
  size_t low;
  size_t high;
  double share; /**< 0..1 */
};

/** Check and copy; nx, ny >= 1. Errors as bw_table1_make(). */
BW_MUST_CHECK enum bw_status bw_table2_make(const double *x, size_t nx, const double *y, size_t ny,
                                            const double *z, struct bw_table2 *out,
                                            struct bw_diag *diag);

/** Value at (x, y); outside the edge values; NaN counts as below the first point. The table must
 *  not be empty. */
double bw_table2_at(const struct bw_table2 *table, double x, double y);

/** Place of x on the first axis, for callers that walk along the second. */
struct bw_table_place bw_table2_place_x(const struct bw_table2 *table, double x);

/** Value at a place of the first axis and `y`: bw_table2_at() without the first search. */
double bw_table2_along(const struct bw_table2 *table, struct bw_table_place row, double y);

/** Place of y on the second axis. */
struct bw_table_place bw_table2_place_y(const struct bw_table2 *table, double y);

/** The same, found at once when its `low` is `hint`; any `hint` will do. */
static inline struct bw_table_place bw_table2_place_y_near(const struct bw_table2 *table,
                                                           size_t hint, double y) {
  if (hint + 1 < table->ny && table->y[hint] < y && y < table->y[hint + 1]) {
    return (struct bw_table_place){hint, hint + 1, (y - table->y[hint]) * table->per_y[hint]};
  }
  return bw_table2_place_y(table, y);
}

/** Value between two places: bw_table2_at() without any search. */
static inline double bw_table2_between(const struct bw_table2 *table,
                                       const struct bw_table_place *row,
                                       const struct bw_table_place *column) {
  const double *low = table->z + row->low * table->ny;
  const double *high = table->z + row->high * table->ny;
  const size_t left = column->low;
  const size_t right = column->high;
  const double at_low = low[left] + column->share * (low[right] - low[left]);
  const double at_high = high[left] + column->share * (high[right] - high[left]);
  return at_low + row->share * (at_high - at_low);
}

#endif
