/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REPORT_TABLE_H
#define BW_REPORT_TABLE_H

#include "status.h"

#include <stddef.h>
#include <stdint.h>

/** A CSV file of the results folder, kept as text. */
struct bw_report_table {
  size_t columns;
  size_t rows;   /**< without the header line */
  size_t cells;  /**< kept so far, (1 + rows) x columns in a sound file */
  size_t room;   /**< cells allocated */
  char **cell;   /**< (cells) owned */
  uint64_t hash; /**< 64-bit FNV-1a of the file's bytes */
};

/** Read `path` with libcsv (RFC 4180). Missing or unreadable file, no header, a row of another
 *  length: BW_E_INPUT with a line; BW_E_MEMORY. Free with bw_report_table_free() in any case. */
BW_MUST_CHECK enum bw_status bw_report_table_read(const char *path, struct bw_report_table *table,
                                                  struct bw_diag *diag);

/** Free and zero. */
void bw_report_table_free(struct bw_report_table *table);

/** Index of column `name`, or table->columns when there is none. */
size_t bw_report_table_column(const struct bw_report_table *table, const char *name);

/** Text of a row (0: the first below the header). */
const char *bw_report_table_text(const struct bw_report_table *table, size_t row, size_t column);

#endif
