/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TRACE_THIN_H
#define BW_TRACE_THIN_H

#include "status.h"

#include <stdio.h>

/** What of a trace is kept for drawing. */
struct bw_trace_thinning {
  const char *columns;  /**< of numbers, separated by commas; time_s first */
  size_t pieces;        /**< stretches of equally many rows, >= 1: pixels of the time axis */
  double from;          /**< s, from here ... */
  double to;            /**< s, ... to here a figure zooms in; to < from: no such window */
  size_t window_pieces; /**< stretches of equal time of that window, >= 1: its pixels */
};

/** Copy `columns` of the trace `path` to `stream`. Of each stretch the rows stay that hold the
 *  least or the greatest value of a column, and the first and last: no peak is lost, at most
 *  2 columns + 2 rows per stretch are left, in their order. A window of no more rows than stretches
 *  stays whole. A cell that is no number is empty.
 *  BW_E_INPUT when the file cannot be read or lacks a column, BW_E_MEMORY, BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_trace_thin(const char *path,
                                           const struct bw_trace_thinning *thinning, FILE *stream,
                                           struct bw_diag *diag);

/** Set the window to the hand-over of `strategy` with the deepest dip and as much around it as
 *  plots/hand-over.gp shows; without one there is no window. `path`: handovers.csv. */
BW_MUST_CHECK enum bw_status bw_trace_thin_window(const char *path, const char *strategy,
                                                  struct bw_trace_thinning *thinning,
                                                  struct bw_diag *diag);

#endif
