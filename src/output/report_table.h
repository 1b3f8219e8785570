/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REPORT_TABLE_H
#define BW_REPORT_TABLE_H

#include "status.h"

#include <stddef.h>
#include <stdint.h>

enum { BW_REPORT_TALLIES = 3 };

/** Rows whose cell in `column` is `value`, kept or not. */
struct bw_report_tally {
  const char *column; /**< borrowed; NULL: none */
  const char *value;
  size_t count;
};

/** A CSV file of the results folder, kept as text. */
struct bw_report_table {
  size_t columns;
  size_t rows;      /**< kept, without the header line */
  size_t rows_seen; /**< in the file */
  size_t cells;     /**< kept so far, (1 + rows) x columns in a sound file */
  size_t room;      /**< cells allocated */
  char **cell;      /**< (cells) owned */
  struct bw_report_tally tally[BW_REPORT_TALLIES];
};

/** Read `path` with libcsv (RFC 4180) and keep the first `keep` rows. `table` is zeroed but for
 *  what its tallies shall count. Missing or unreadable file, no header, a row of another
 *  length: BW_E_INPUT with a line; BW_E_MEMORY. Free with bw_report_table_free() in any case. */
BW_MUST_CHECK enum bw_status bw_report_table_read(const char *path, size_t keep,
                                                  struct bw_report_table *table,
                                                  struct bw_diag *diag);

/** Free and zero. */
void bw_report_table_free(struct bw_report_table *table);

/** Index of column `name`, or table->columns when there is none. */
size_t bw_report_table_column(const struct bw_report_table *table, const char *name);

/** Text of a row (0: the first below the header). */
const char *bw_report_table_text(const struct bw_report_table *table, size_t row, size_t column);

/** What a file's bytes are, to tell mix-ups from each other. */
struct bw_report_print {
  uint64_t hash; /**< 64-bit FNV-1a */
  size_t bytes;
  size_t lines;
};

/** Read the whole file at `path`. BW_E_INPUT with a line when it cannot be read. */
BW_MUST_CHECK enum bw_status bw_report_fingerprint(const char *path, struct bw_report_print *print,
                                                   struct bw_diag *diag);

#endif
