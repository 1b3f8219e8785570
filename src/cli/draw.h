/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CLI_DRAW_H
#define BW_CLI_DRAW_H

#include "brakeweave.h"

/** Draw the figures of `plan`, made of `folder`, into the folder `target`, made when it is not
 *  there, as NAME.`ending` (svg, png or pdf; names by bw_figure_file()); files of the same name are
 *  replaced. gnuplot runs without a shell and without the user's settings, one process per
 *  processor at a time. Long traces are thinned to pixels first (bw_trace_thin()). BW_E_USAGE when
 *  gnuplot is not there; BW_E_INPUT when the scripts are not; BW_E_IO when a figure was not drawn.
 */
BW_MUST_CHECK enum bw_status bw_draw(const char *folder, const struct bw_figure_plan *plan,
                                     const char *target, const char *ending, struct bw_diag *diag);

#endif
