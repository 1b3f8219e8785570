/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CSV_H
#define BW_CSV_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** A CSV file of numbers, or of words, under a header line, read with libcsv and kept whole.
 *  Lines that start with '#' before the header or between rows are comments; a UTF-8 mark and
 *  CRLF are accepted. Binary bytes, an open quote, a row of another length, an empty cell, a
 *  number that is not whole and finite are refused with `file:line: ...; how to mend it`. */
struct bw_csv {
  char path[1024];
  char comment[512]; /**< first comment line without '# ', may be empty */
  size_t columns;
  char (*names)[64]; /**< (columns) header cells */
  int header_line;
  size_t rows;
  double *values; /**< (rows x columns) */
  int *lines;     /**< (rows) line number of each row */
  char *text;     /**< cells as typed, one behind the other, when read as words; else NULL */
  size_t text_size;
  size_t *starts; /**< (rows x columns) of the cells in `text` */
};

/** Read `path`. Missing or empty file, a folder, no data row: BW_E_INPUT; read failure: BW_E_IO;
 *  BW_E_MEMORY. On error *out is zeroed. Free with bw_csv_free(). */
BW_MUST_CHECK enum bw_status bw_csv_read(const char *path, struct bw_csv *out,
                                         struct bw_diag *diag);

/** The same for cells that need not be numbers: `values` is NULL, bw_csv_word() gives the cells. */
BW_MUST_CHECK enum bw_status bw_csv_read_words(const char *path, struct bw_csv *out,
                                               struct bw_diag *diag);

/** A cell of a file read as words, without blanks around it and never empty. */
const char *bw_csv_word(const struct bw_csv *csv, size_t row, size_t column);

/** Free and zero; fine on a zeroed one. */
void bw_csv_free(struct bw_csv *csv);

/** Index of the column `name`, or csv->columns when there is none. */
size_t bw_csv_column(const struct bw_csv *csv, const char *name);

/** Check the header against `known` names (`count`): unknown (nearest name given) or doubled
 *  columns and missing ones among the first `required` are reported at the header line. */
BW_MUST_CHECK enum bw_status bw_csv_expect(const struct bw_csv *csv, const char *const *known,
                                           size_t count, size_t required, struct bw_diag *diag);

#endif
