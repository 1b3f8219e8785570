/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CSV_SCAN_H
#define BW_CSV_SCAN_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Takes one cell of a CSV file: row 0 is the header. False: no more cells are wanted. */
typedef bool (*bw_csv_cell)(void *context, size_t row, size_t column, const char *text);

/** Hand every cell of `path` to `take`, in order, with libcsv (RFC 4180): nothing is kept, so the
 *  file may be of any length. BW_E_INPUT with a line when it is missing, unreadable or empty. */
BW_MUST_CHECK enum bw_status bw_csv_scan(const char *path, bw_csv_cell take, void *context,
                                         struct bw_diag *diag);

#endif
