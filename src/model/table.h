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
  double slope[BW_TABLE1_MAX]; /**< (n - 1), prepared by make */
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

/** z over (x, y), bilinear, held constant outside. z[i * ny + j] belongs to x[i], y[j]. */
struct bw_table2 {
  size_t nx; /**< 0: not given */
  size_t ny;
  double x[BW_TABLE2_MAX];
  double y[BW_TABLE2_MAX];
  double z[BW_TABLE2_MAX * BW_TABLE2_MAX]; /**< (nx x ny) */
};

/** Check and copy; nx, ny >= 1. Errors as bw_table1_make(). */
BW_MUST_CHECK enum bw_status bw_table2_make(const double *x, size_t nx, const double *y, size_t ny,
                                            const double *z, struct bw_table2 *out,
                                            struct bw_diag *diag);

/** Value at (x, y). */
double bw_table2_at(const struct bw_table2 *table, double x, double y);

#endif
