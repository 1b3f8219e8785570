/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RESULT_CSV_H
#define BW_RESULT_CSV_H

#include "output/csv_write.h"
#include "output/result.h"

#include <stdio.h>

/** The tables of a results folder. Each has a header line with the unit in every name, numbers
 *  with 17 significant digits, shares as 0..1, an empty field where a figure does not apply.
 *  All return false on a write error. */

/** A row per strategy: strategy, verdict, verdict_reason, balance_rule, the summary columns and
 *  non_dominated (bw_results_undominated()).
 *  A failed strategy has its row too, with the reason and empty figures. */
bool bw_write_summary_csv(const struct bw_results *results, FILE *stream);

/** The names of its columns, to the end of the row. */
void bw_put_summary_names(struct bw_csv_row *row);

/** The values of result `index` in these columns, to the end of the row. */
void bw_put_summary_values(struct bw_csv_row *row, const struct bw_results *results, size_t index);

/** A row per braking event; event 0 is the remainder outside all events. */
bool bw_write_events_csv(const struct bw_results *results, FILE *stream);

/** A row per hand-over. */
bool bw_write_handovers_csv(const struct bw_results *results, FILE *stream);

/** The books of each run, a row per strategy. */
bool bw_write_ledger_csv(const struct bw_results *results, FILE *stream);

/** First cells of the header line of summary.csv, by which a results folder is recognised. */
#define BW_SUMMARY_CSV_START "strategy,verdict,verdict_reason,balance_rule,"

#endif
