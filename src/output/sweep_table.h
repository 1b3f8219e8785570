/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_TABLE_H
#define BW_SWEEP_TABLE_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** A sweep.csv read row by row; memory does not grow with its rows.
 *
 *  Its header says what the columns are: keys of the grid, then, if there are draws, `sample`,
 *  `part` (with sensitivity) and the keys that are drawn, then `status` and `reason` and the
 * columns of summary.csv, four texts before its figures. Without `sample` all swept keys are of the
 * grid, and statistics go over all of it. */
struct bw_sweep_table;

/** Where the columns are. Numbers are from 0; `to` is behind the last. */
struct bw_sweep_columns {
  size_t count;
  size_t group_to;  /**< 0 .. group_to: keys by whose values rows are grouped; 0 without draws */
  bool has_parts;   /**< `part` stands before keys_from */
  size_t keys_from; /**< keys that vary within a group; with draws behind `sample` and `part` */
  size_t status;    /**< behind them; `strategy` is two further, `verdict` three */
  size_t figures_from;
};

/** Open `path`. BW_E_IO when it cannot be read, BW_E_INPUT when it is no sweep.csv, BW_E_MEMORY.
 *  On error *out is NULL. */
BW_MUST_CHECK enum bw_status bw_sweep_table_open(const char *path, struct bw_sweep_table **out,
                                                 struct bw_diag *diag);
/** Open any CSV under a header line, whose columns have no roles. */
BW_MUST_CHECK enum bw_status bw_sweep_table_open_any(const char *path, struct bw_sweep_table **out,
                                                     struct bw_diag *diag);
void bw_sweep_table_close(struct bw_sweep_table *table);

struct bw_sweep_columns bw_sweep_table_columns(const struct bw_sweep_table *table);

/** Name of a column; lives as long as the table. */
const char *bw_sweep_table_name(const struct bw_sweep_table *table, size_t column);

/** The next row: *is_there is false at the end. *at is where it starts. */
BW_MUST_CHECK enum bw_status bw_sweep_table_next(struct bw_sweep_table *table, bool *is_there,
                                                 uint64_t *at, struct bw_diag *diag);

/** Read the row that starts at `at`, and go on with what follows it. */
BW_MUST_CHECK enum bw_status bw_sweep_table_go(struct bw_sweep_table *table, uint64_t at,
                                               struct bw_diag *diag);

/** A cell of the row that was read last, until the next one is. */
const char *bw_sweep_table_cell(const struct bw_sweep_table *table, size_t column);

#endif
