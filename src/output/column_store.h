/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_COLUMN_STORE_H
#define BW_COLUMN_STORE_H

#include "status.h"

#include <stddef.h>

/** Rows of numbers put aside in a file of their own and read back column by column, so that
 *  statistics of a column need neither all rows in memory nor the whole table read once per column.
 *  The file has no name; it vanishes with the program. */
struct bw_column_store;

/** In the folder `folder`, for rows of `columns` numbers. BW_E_IO, BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_column_store_create(const char *folder, size_t columns,
                                                    struct bw_column_store **out,
                                                    struct bw_diag *diag);
void bw_column_store_destroy(struct bw_column_store *store);

/** Forget all rows. */
void bw_column_store_clear(struct bw_column_store *store);

/** Append a row (columns); any numbers. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_column_store_add(struct bw_column_store *store, const double *row,
                                                 struct bw_diag *diag);

/** Rows that are in it. */
size_t bw_column_store_rows(const struct bw_column_store *store);

/** Up to `room` numbers of `column` from row `from` on; how many there were. A failed read gives 0
 *  and is remembered. */
size_t bw_column_store_read(struct bw_column_store *store, size_t column, size_t from,
                            double *values, size_t room);

/** BW_E_IO when a read has failed since the start, else BW_OK. */
BW_MUST_CHECK enum bw_status bw_column_store_check(const struct bw_column_store *store,
                                                   struct bw_diag *diag);

#endif
