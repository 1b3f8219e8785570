/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_STATISTICS_H
#define BW_SWEEP_STATISTICS_H

#include "status.h"

/** Write `folder`/sweep-statistics.csv from the finished rows at `rows_path` (a sweep.csv) alone,
 * so the same rows give the same bytes: a row per group, strategy and figure of summary.csv. A
 * group is a point of the grid when there are draws, else the whole sweep. Columns:
 *
 *    keys of the grid, strategy, column,
 *    runs, failed, missed (by verdict, so without 'not ranked'), values (finite ones, which the
 *    rest is over),
 *    mean, std (n - 1), min, p01, p05, p50, p95, p99, max,
 *    worst_is (high, low or empty: bw_summary_worst()), worst, worst_row (data row of sweep.csv,
 *    from 1), worst.KEY for each key that varies within the group,
 *    and with sensitivity: draws (whole ones), then per key first_order.KEY, first_order_low.KEY,
 *    first_order_high.KEY, total.KEY, total_low.KEY, total_high.KEY (batch/sobol_index.h).
 *
 *  What does not apply is empty. Failed runs are counted and left out; a draw with a failed part is
 *  left out of the indices as a whole. Memory does not grow with the rows: quantiles are selected
 *  in passes over columns put aside in a nameless file in `folder`. BW_E_IO, BW_E_INPUT,
 *  BW_E_MEMORY; the file is there whole or not at all. */
BW_MUST_CHECK enum bw_status bw_sweep_statistics_write(const char *rows_path, const char *folder,
                                                       struct bw_diag *diag);

#endif
