/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CSV_WRITE_H
#define BW_CSV_WRITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/** Writing CSV cell by cell, RFC 4180 quoting by libcsv where a text needs it. Start from
 *  {.stream = file}. A failed write sticks in `has_failed`; later cells are then dropped. */
struct bw_csv_row {
  FILE *stream;
  bool is_started; /**< a cell of the current row is written */
  bool has_failed;
};

/** Text cell; any bytes are kept. */
void bw_csv_put_text(struct bw_csv_row *row, const char *text);

/** Number cell with 17 significant digits, empty when not finite (not applicable). -0 is 0. */
void bw_csv_put_number(struct bw_csv_row *row, double value);

/** The same with 10 significant digits: for the many rows of a time trace. */
void bw_csv_put_sample(struct bw_csv_row *row, double value);

/** Whole number cell. */
void bw_csv_put_count(struct bw_csv_row *row, size_t value);

/** End the row. */
void bw_csv_end_row(struct bw_csv_row *row);

#endif
