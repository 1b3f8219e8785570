/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FIND_TABLE_H
#define BW_FIND_TABLE_H

#include "batch/find_edge.h"
#include "output/csv_write.h"

/** Names of the columns of find.csv behind those of the grid, to the end of the row: strategy, find
 *  (the condition), along, result (found, at-start, none, unknown), first, clear (the values
 * between which it begins to hold), runs, failed (runs that say nothing), crossings (seen on the
 * scan; more than one: not monotone), note. */
void bw_put_edge_names(struct bw_csv_row *row);

/** What such a row is about. */
struct bw_edge_row {
  const char *strategy;
  const char *find;  /**< the condition as typed */
  const char *along; /**< key */
  double within;
  const char *failure; /**< of the last run that failed, "" without one */
  struct bw_edge edge;
};

/** Its values, to the end of the row. */
void bw_put_edge_values(struct bw_csv_row *row, const struct bw_edge_row *values);

/** Print a finished find.csv for people, at most BW_EDGE_ROWS_SHOWN rows and how many more there
 *  are. BW_E_IO, BW_E_INPUT, BW_E_MEMORY. */
enum { BW_EDGE_ROWS_SHOWN = 60 };
BW_MUST_CHECK enum bw_status bw_edge_print(const char *path, FILE *stream, struct bw_diag *diag);

#endif
