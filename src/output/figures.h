/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FIGURES_H
#define BW_FIGURES_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** The figures that can be drawn of a folder of results, of an assessment, a sweep or a fault
 *  study: one table for 'plot' and 'report'. A figure applies when the files that it reads are
 *  there; of figures per strategy one is drawn for each strategy that all of its files know. */

enum { BW_FIGURE_NEEDS = 3, BW_FIGURE_FILE_MAX = 400 };

/** Name of a need that stands for trace-STRATEGY.csv. */
#define BW_FIGURE_TRACE "trace"

/** What a sweep must have swept for a figure of it. */
enum bw_figure_when {
  BW_FIGURE_ALWAYS,
  BW_FIGURE_ONE_AXIS,   /**< a key with two numbers or more */
  BW_FIGURE_TWO_AXES,   /**< two such keys */
  BW_FIGURE_ALL_INDICES /**< columns of sensitivity */
};

struct bw_plot_figure {
  const char *name;     /**< of the drawn file, -STRATEGY behind it where there is one each */
  const char *script;   /**< NAME of plots/NAME.gp */
  const char *argument; /**< handed to the script behind everything else; NULL: none */
  const char *title;    /**< plain words */
  const char *reading;  /**< what is to be seen and how to read it: alternative text */
  bool is_per_strategy;
  enum bw_figure_when when;
  struct {
    const char *file;    /**< NULL: no more; BW_FIGURE_TRACE: the strategy's trace */
    const char *columns; /**< that the script reads, separated by commas */
  } need[BW_FIGURE_NEEDS];
};

/** Number of figures in the table. */
size_t bw_figure_count(void);

/** Figure `index`, 0 to bw_figure_count() - 1. */
const struct bw_plot_figure *bw_figure_at(size_t index);

/** One figure to draw. */
struct bw_figure_item {
  const struct bw_plot_figure *figure;
  const char *strategy; /**< NULL for a figure of the whole folder */
};

/** What applies to a folder, in the order of the table, then that of the rows. */
struct bw_figure_plan {
  size_t count;
  struct bw_figure_item *item; /**< (count) */
  struct bw_figure_view *view; /**< what the items' names live in; opaque */
};

/** Look through `folder` and find what applies. `only` (`only_count` names, none: all) limits it
 *  to some strategies. A folder without results, a file that is empty or lacks a column (an older
 *  version's), a name that is in no file: BW_E_INPUT or BW_E_USAGE with a line. Free with
 *  bw_figure_plan_free() in any case. */
BW_MUST_CHECK enum bw_status bw_figure_plan_make(const char *folder, const char *const *only,
                                                 size_t only_count, struct bw_figure_plan *plan,
                                                 struct bw_diag *diag);

/** Free and zero. */
void bw_figure_plan_free(struct bw_figure_plan *plan);

/** Name of the drawn file without folder, such as 'waterfall-series.svg'; what a file name cannot
 *  hold is written %XX as in the names of traces. `ending` has no dot. */
void bw_figure_file(const struct bw_figure_item *item, const char *ending,
                    char name[BW_FIGURE_FILE_MAX]);

/** Columns that any script reads of a trace, separated by commas. */
const char *bw_figure_trace_columns(void);

#endif
