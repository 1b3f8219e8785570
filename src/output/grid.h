/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_GRID_H
#define BW_GRID_H

#include "status.h"

#include <stdbool.h>
#include <stdio.h>

/** A table for people: cells filled row by row, printed aligned. Widths count terminal columns,
 *  so names in UTF-8 stay in line; control characters are printed as '?'. */
struct bw_grid;

/** A grid with `columns` columns, the first one aligned left and the others right. NULL without
 *  memory. Caller frees with bw_grid_destroy(). */
struct bw_grid *bw_grid_create(size_t columns);

/** Free; NULL is fine. */
void bw_grid_destroy(struct bw_grid *grid);

/** Align a column left. */
void bw_grid_align_left(struct bw_grid *grid, size_t column);

/** Let cells wider than `width` terminal columns stand out of their column instead of widening it,
 * so that one long cell does not push a whole list off the screen. */
void bw_grid_limit(struct bw_grid *grid, size_t column, size_t width);

/** Put the next cell; the text is copied. Without memory the grid remembers it and printing
 *  fails. `grid` must not be NULL. */
void bw_grid_put(struct bw_grid *grid, const char *text);

/** Put the next cell, formatted; at most 127 bytes are kept. */
void bw_grid_putf(struct bw_grid *grid, const char *format, ...) BW_PRINTF(2, 3);

/** How a grid is printed. */
enum bw_grid_format {
  BW_GRID_TEXT,    /**< aligned */
  BW_GRID_CSV,     /**< RFC 4180 */
  BW_GRID_MARKDOWN /**< pipe table; the header is one row */
};

/** Print all complete rows. The first `header_rows` are the header: in text a rule is drawn
 *  below them. Each text row is indented by `indent` columns. BW_E_MEMORY if a cell was lost,
 *  BW_E_IO on a write error. */
BW_MUST_CHECK enum bw_status bw_grid_print(const struct bw_grid *grid, enum bw_grid_format format,
                                           size_t header_rows, size_t indent, FILE *stream);

#endif
