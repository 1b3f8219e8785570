/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_PROGRESS_H
#define BW_SWEEP_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

/** How far a sweep is, on standard error: one line that is rewritten on a terminal, or a line of
 *  its own every ten seconds. */
struct bw_sweep_progress {
  bool is_terminal;
  bool has_lines;
  const char *what; /**< is done, plural, a constant */
  size_t count;     /**< of them */
  size_t first;     /**< that were there at the start */
  double start;     /**< s */
  double shown;     /**< s, when something was shown last */
  size_t width;     /**< columns that stand on the terminal */
};

/** Show on a terminal unless `is_quiet`, and with `has_lines` plainly anywhere else. Of `count`
 *  points, or `what` else, `first` are done. */
struct bw_sweep_progress bw_sweep_progress_make(bool is_quiet, bool has_lines, const char *what,
                                                size_t first, size_t count);

/** Show, when it is time to. `failed` runs. */
void bw_sweep_progress_show(struct bw_sweep_progress *progress, size_t done, size_t failed);

/** Wipe the terminal's line. */
void bw_sweep_progress_clear(struct bw_sweep_progress *progress);

#endif
