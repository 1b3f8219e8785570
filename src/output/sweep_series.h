/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_SERIES_H
#define BW_SWEEP_SERIES_H

#include "output/column_store.h"
#include "output/sweep_table.h"

/** The runs of one strategy in one group of a sweep, on their way to statistics. */

enum { BW_SERIES_STRATEGY_MAX = 64 };

/** Running figures of one column. */
struct bw_series_figure {
  size_t values; /**< finite ones */
  double mean;
  double squares; /**< sum of squared distances from the mean (Welford 1962) */
  double min;
  double max;
  size_t min_row; /**< data row of sweep.csv, from 1; the first of equals */
  size_t max_row;
  uint64_t min_at; /**< where that row starts */
  uint64_t max_at;
};

struct bw_series {
  char strategy[BW_SERIES_STRATEGY_MAX];
  size_t runs;
  size_t failed;
  size_t missed;
  struct bw_series_figure *figure; /**< (figures) owned */
  double *row;                     /**< (figures) owned */
  struct bw_column_store *store;   /**< owned; a row per run, NaN where a cell is empty */
  size_t figures;
};

/** Start from {0}; free with bw_series_free(). */
BW_MUST_CHECK enum bw_status bw_series_make(struct bw_series *series, const char *strategy,
                                            size_t figures, const char *folder,
                                            struct bw_diag *diag);
void bw_series_free(struct bw_series *series);

/** Forget the runs, for the next group. */
void bw_series_clear(struct bw_series *series);

/** Add the row that `table` read last; it is data row `number` and starts at `at`. BW_E_INPUT for a
 *  figure that is no number. */
BW_MUST_CHECK enum bw_status bw_series_add(struct bw_series *series,
                                           const struct bw_sweep_table *table, size_t number,
                                           uint64_t at, struct bw_diag *diag);

/** Standard deviation (n - 1), NaN below two values. */
double bw_series_deviation(const struct bw_series_figure *figure);

#endif
