/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CLI_TRACES_THINNED_H
#define BW_CLI_TRACES_THINNED_H

#include "brakeweave.h"

/** Make a folder inside `target` that scripts can read in place of `folder`: traces of the plan's
 *  strategies thinned to pixels, with the columns that are drawn, the hand-over that is zoomed
 *  whole; the small files as copies. Its path goes to `thinned`, empty when the plan draws nothing
 *  of a trace. Take it away with bw_unthin_traces() in any case. */
BW_MUST_CHECK enum bw_status bw_thin_traces(const char *folder, const struct bw_figure_plan *plan,
                                            const char *target, char thinned[BW_FIGURE_PATH_MAX],
                                            struct bw_diag *diag);

/** Remove it; nothing for an empty path. */
void bw_unthin_traces(const char *thinned);

/** Whether the figure is drawn of a trace. */
bool bw_reads_trace(const struct bw_plot_figure *figure);

#endif
