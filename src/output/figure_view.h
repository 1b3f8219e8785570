/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FIGURE_VIEW_H
#define BW_FIGURE_VIEW_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Header, strategies and swept keys of one CSV file of a results folder; the rows are not kept. */

enum { BW_FIGURE_PATH_MAX = 4096, BW_FIGURE_COLUMNS_MAX = 1024, BW_FIGURE_STRATEGIES_MAX = 512 };

/** What is known of one file of the folder. */
struct bw_figure_view {
  const char *file;
  bool is_there;
  size_t columns;
  char *name[BW_FIGURE_COLUMNS_MAX]; /* (columns) owned */
  size_t strategies;
  char *strategy[BW_FIGURE_STRATEGIES_MAX]; /* (strategies) owned, in order of appearance */
  size_t strategy_column;                   /* columns: none */
  size_t keys;                              /* a sweep's grid keys come first */
  double first_value[BW_FIGURE_COLUMNS_MAX];
  bool has_number[BW_FIGURE_COLUMNS_MAX];
  bool is_axis[BW_FIGURE_COLUMNS_MAX]; /* a key with two numbers or more */
  bool is_out_of_memory;
};

/** Look through `file` of `folder`; one that is not there leaves is_there false. BW_E_INPUT with a
 *  line when it cannot be read or is empty, BW_E_MEMORY. `file` is borrowed. Free with
 *  bw_figure_view_free() in any case. */
BW_MUST_CHECK enum bw_status bw_figure_view_read(const char *folder, const char *file,
                                                 bool is_header_only, struct bw_figure_view *view,
                                                 struct bw_diag *diag);

/** Free and zero. */
void bw_figure_view_free(struct bw_figure_view *view);

/** BW_E_INPUT with a line that names the first of `columns` (separated by commas) it lacks. */
BW_MUST_CHECK enum bw_status bw_figure_view_check(const char *folder,
                                                  const struct bw_figure_view *view,
                                                  const char *columns, struct bw_diag *diag);

/** Whether a row of this strategy was seen. */
bool bw_figure_view_knows(const struct bw_figure_view *view, const char *strategy);

/** Path of a file of the folder; BW_E_USAGE when it is too long. */
BW_MUST_CHECK enum bw_status bw_figure_path(const char *folder, const char *name,
                                            char path[BW_FIGURE_PATH_MAX], struct bw_diag *diag);

#endif
