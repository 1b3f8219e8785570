/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/table.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* axes up to this length are searched by counting */
enum { COUNTED_POINTS = 24 };

static enum bw_status check_axis(const double *x, size_t n, size_t most, const char *what,
                                 struct bw_diag *diag) {
  if (n == 0 || n > most) {
    return bw_fail(diag, BW_E_RANGE, "%s has %zu points; give 1 to %zu", what, n, most);
  }
  for (size_t i = 0; i < n; i++) {
    if (!isfinite(x[i])) {
      return bw_fail(diag, BW_E_RANGE, "%s point %zu is not a finite number; give finite numbers",
                     what, i + 1);
    }
    if (i > 0 && !(x[i] > x[i - 1])) {
      return bw_fail(diag, BW_E_RANGE,
                     "%s does not rise at point %zu (%g after %g); sort the rows, none twice", what,
                     i + 1, x[i], x[i - 1]);
    }
  }
  return BW_OK;
}

static enum bw_status check_values(const double *y, size_t n, struct bw_diag *diag) {
  for (size_t i = 0; i < n; i++) {
    if (!isfinite(y[i])) {
      return bw_fail(diag, BW_E_RANGE,
                     "table value %zu is not a finite number; give finite numbers", i + 1);
    }
  }
  return BW_OK;
}

/* index i with x[i] <= at < x[i + 1]; the caller made sure that x[0] < at < x[n - 1] */
static size_t find_interval(const double *x, size_t n, double at) {
  size_t low = 0;
  if (n <= COUNTED_POINTS) {
    /* comparisons that do not wait for one another beat halving on a short axis */
    for (size_t i = 1; i + 1 < n; i++) {
      low += x[i] <= at ? 1 : 0;
    }
    return low;
  }
  size_t high = n - 1;
  while (high - low > 1) {
    const size_t middle = (low + high) / 2;
    if (x[middle] <= at) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return low;
}

enum bw_status bw_table1_make(const double *x, const double *y, size_t n, struct bw_table1 *out,
                              struct bw_diag *diag) {
  BW_TRY(check_axis(x, n, BW_TABLE1_MAX, "table column 1", diag));
  BW_TRY(check_values(y, n, diag));
  struct bw_table1 made = {.n = n};
  for (size_t i = 0; i < n; i++) {
    made.x[i] = x[i];
    made.y[i] = y[i];
  }
  for (size_t i = 0; i + 1 < n; i++) {
    const double width = x[i + 1] - x[i];
    made.slope[i] = (y[i + 1] - y[i]) / width;
    made.integral[i + 1] = made.integral[i] + 0.5 * width * (y[i] + y[i + 1]);
    if (!isfinite(made.slope[i]) || !isfinite(made.integral[i + 1])) {
      return bw_fail(diag, BW_E_RANGE,
                     "table is too steep or too large at point %zu; spread the points", i + 1);
    }
  }
  *out = made;
  return BW_OK;
}

double bw_table1_at(const struct bw_table1 *table, double x) {
  const size_t last = table->n - 1;
  if (!(x > table->x[0])) {
    return table->y[0];
  }
  if (x >= table->x[last]) {
    return table->y[last];
  }
  const size_t i = find_interval(table->x, table->n, x);
  return table->y[i] + table->slope[i] * (x - table->x[i]);
}

double bw_table1_integral(const struct bw_table1 *table, double x) {
  const size_t last = table->n - 1;
  if (!(x > table->x[0])) {
    return isnan(x) ? 0.0 : table->y[0] * (x - table->x[0]);
  }
  if (x >= table->x[last]) {
    return table->integral[last] + table->y[last] * (x - table->x[last]);
  }
  const size_t i = find_interval(table->x, table->n, x);
  const double into = x - table->x[i];
  return table->integral[i] + into * (table->y[i] + 0.5 * table->slope[i] * into);
}

size_t bw_table1_segment(const struct bw_table1 *table, double x) {
  const size_t last = table->n - 1;
  if (!(x > table->x[0])) {
    return 0;
  }
  return x >= table->x[last] ? last : find_interval(table->x, table->n, x);
}

double bw_table1_mean(const struct bw_table1 *table, double from, double width) {
  const double start = bw_table1_at(table, from);
  const double low = width < 0.0 ? from + width : from;
  const double high = width < 0.0 ? from : from + width;
  if (!(high > low)) {
    return start;
  }
  /* weights times differences from `start`: rounding of a weight then meets a small number */
  const double per_width = 1.0 / (high - low);
  double mean = start;
  double left = low;
  size_t next = 0;
  while (next < table->n && table->x[next] <= low) {
    next++;
  }
  while (left < high) {
    const double right = next < table->n && table->x[next] < high ? table->x[next] : high;
    mean += (right - left) * per_width * (bw_table1_at(table, 0.5 * (left + right)) - start);
    left = right;
    next++;
  }
  return mean;
}

/* two axes with their lengths, values, result, diag: one more than the rule allows
 * NOLINTNEXTLINE(readability-function-size) */
enum bw_status bw_table2_make(const double *x, size_t nx, const double *y, size_t ny,
                              const double *z, struct bw_table2 *out, struct bw_diag *diag) {
  BW_TRY(check_axis(x, nx, BW_TABLE2_MAX, "map axis 1", diag));
  BW_TRY(check_axis(y, ny, BW_TABLE2_MAX, "map axis 2", diag));
  BW_TRY(check_values(z, nx * ny, diag));
  for (size_t i = 0; i + 1 < nx; i++) {
    if (!isfinite(1.0 / (x[i + 1] - x[i]))) {
      return bw_fail(diag, BW_E_RANGE, "map axis 1 is too fine at point %zu; spread the points",
                     i + 1);
    }
  }
  for (size_t j = 0; j + 1 < ny; j++) {
    if (!isfinite(1.0 / (y[j + 1] - y[j]))) {
      return bw_fail(diag, BW_E_RANGE, "map axis 2 is too fine at point %zu; spread the points",
                     j + 1);
    }
  }
  memset(out, 0, sizeof *out);
  out->nx = nx;
  out->ny = ny;
  memcpy(out->x, x, nx * sizeof *x);
  memcpy(out->y, y, ny * sizeof *y);
  memcpy(out->z, z, nx * ny * sizeof *z);
  for (size_t i = 0; i + 1 < nx; i++) {
    out->per_x[i] = 1.0 / (x[i + 1] - x[i]);
  }
  for (size_t j = 0; j + 1 < ny; j++) {
    out->per_y[j] = 1.0 / (y[j + 1] - y[j]);
  }
  return BW_OK;
}

static struct bw_table_place place(const double *x, const double *per_x, size_t n, double at) {
  const size_t last = n - 1;
  if (!(at > x[0])) {
    return (struct bw_table_place){0, 0, 0.0};
  }
  if (at >= x[last]) {
    return (struct bw_table_place){last, last, 0.0};
  }
  const size_t i = find_interval(x, n, at);
  return (struct bw_table_place){i, i + 1, (at - x[i]) * per_x[i]};
}

struct bw_table_place bw_table2_place_x(const struct bw_table2 *table, double x) {
  return place(table->x, table->per_x, table->nx, x);
}

struct bw_table_place bw_table2_place_y(const struct bw_table2 *table, double y) {
  return place(table->y, table->per_y, table->ny, y);
}

double bw_table2_at(const struct bw_table2 *table, double x, double y) {
  return bw_table2_along(table, place(table->x, table->per_x, table->nx, x), y);
}

double bw_table2_along(const struct bw_table2 *table, struct bw_table_place row, double y) {
  const struct bw_table_place column = bw_table2_place_y(table, y);
  return bw_table2_between(table, &row, &column);
}
