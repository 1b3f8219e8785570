/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_PLAN_H
#define BW_SWEEP_PLAN_H

#include "batch/draws.h"
#include "input/csv.h"
#include "input/param.h"

/** Which points a sweep visits: the rows of a points file, crossed with every axis and with the
 *  draws of a sample.
 *
 *  The order is fixed: rows of the points file change slowest, then the axes in the order they were
 *  added, the last one faster, draws fastest. Values are computed when asked for, so that a plan of
 * a million points is as small as one of ten. */

enum {
  BW_SWEEP_AXES_MAX = 16,
  BW_SWEEP_COLUMNS_MAX = 32, /**< of a points file */
  BW_SWEEP_VALUE_MAX = 512   /**< bytes of a value with its end */
};

/** Largest number of points of one plan. */
#define BW_SWEEP_POINTS_MAX 100000000u

/** A stretch of an axis: one text, or numbers from `from` on. */
struct bw_sweep_span {
  const char *text; /**< not NULL: the one value, `length` bytes, borrowed */
  size_t length;
  double from;    /**< edge unit of the key */
  double step;    /**< added, or the factor */
  bool is_factor; /**< multiply by `step` instead of adding it */
  size_t count;
};

struct bw_sweep_axis {
  const char *key; /**< of the parameter table */
  size_t span_count;
  struct bw_sweep_span *span; /**< (span_count) owned */
  size_t count;               /**< values of all spans */
};

/** A column of a points file that is a key. */
struct bw_sweep_point_key {
  const char *key;
  size_t column;
  bool is_number;
};

/** Start from {0}; free with bw_sweep_plan_free(). */
struct bw_sweep_plan {
  const struct bw_csv *points; /**< read as words; NULL: none; borrowed */
  size_t point_key_count;      /**< its columns but `strategy` */
  struct bw_sweep_point_key point_key[BW_SWEEP_COLUMNS_MAX];
  bool names_strategies;  /**< it has the column `strategy` */
  size_t strategy_column; /**< then */
  size_t axis_count;
  struct bw_sweep_axis axis[BW_SWEEP_AXES_MAX];
  struct bw_draws *draws; /**< NULL: none; borrowed */
  size_t point_count;     /**< 1 without points file, axes and sample */
};

/** Take the columns of `points` (read as words) as swept keys; it and `table` are borrowed. `cycle`
 *  stands for cycle.name; a column `strategy` names the strategy of each row. BW_E_INPUT with its
 *  line for an unknown or doubled key and for a cell of a number key that is no number. Before any
 *  axis. */
BW_MUST_CHECK enum bw_status bw_sweep_plan_points(struct bw_sweep_plan *plan,
                                                  const struct bw_param_table *table,
                                                  const struct bw_csv *points,
                                                  struct bw_diag *diag);

/** Add the axis `text`, borrowed: KEY=ITEM,ITEM,... Items of a number key are numbers, FROM:TO:STEP
 *  (added) or FROM:TO:xFACTOR (multiplied); TO is part of it when a whole number of steps leads
 *  there within 1e-9 of a step. Items of any other key are words. `cycle` stands for cycle.name.
 *  BW_E_USAGE for anything else, an unknown key or one that is swept already. */
BW_MUST_CHECK enum bw_status bw_sweep_plan_add(struct bw_sweep_plan *plan,
                                               const struct bw_param_table *table, const char *text,
                                               struct bw_diag *diag);

/** Cross everything with the draws of `draws`, borrowed. BW_E_USAGE when one of its keys is swept
 *  already, or the points become too many. Nothing can be added behind it. */
BW_MUST_CHECK enum bw_status bw_sweep_plan_draws(struct bw_sweep_plan *plan, struct bw_draws *draws,
                                                 struct bw_diag *diag);

void bw_sweep_plan_free(struct bw_sweep_plan *plan);

/** Number of swept keys: columns of the points file, the axes, the keys that are drawn. */
size_t bw_sweep_key_count(const struct bw_sweep_plan *plan);

/** Swept key `index`. */
const char *bw_sweep_key(const struct bw_sweep_plan *plan, size_t index);

/** The value that key `index` has at `point` (0 .. point_count - 1), as text in its edge unit:
 *  what is loaded is what is written. Computed numbers have 15 significant digits, those of a
 *  points file as many as they need. */
void bw_sweep_value(const struct bw_sweep_plan *plan, size_t point, size_t index,
                    char value[BW_SWEEP_VALUE_MAX]);

/** The strategy that the points file names for `point`, NULL when it names none. */
const char *bw_sweep_strategy(const struct bw_sweep_plan *plan, size_t point);

/** What stands in a table before the results of a point: the swept keys, and with a sample
 *  `sample` (number of the draw, from 1) and, for sensitivity, `part` before those that are drawn.
 */
size_t bw_sweep_column_count(const struct bw_sweep_plan *plan);
const char *bw_sweep_column(const struct bw_sweep_plan *plan, size_t index);
void bw_sweep_column_value(const struct bw_sweep_plan *plan, size_t point, size_t index,
                           char value[BW_SWEEP_VALUE_MAX]);

#endif
