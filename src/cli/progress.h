/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PROGRESS_H
#define BW_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

/** One line on standard error that says how far a run is; only on a terminal. */
struct bw_progress {
  bool is_shown;
  size_t width;     /**< columns of the line that stands there */
  const char *noun; /**< what is counted, NULL: strategies */
};

/** Progress that shows only when standard error is a terminal and not `is_quiet`. */
struct bw_progress bw_progress_make(bool is_quiet);

/** Show 'NOUN INDEX of COUNT: name' (index from 0). */
void bw_progress_show(struct bw_progress *progress, size_t index, size_t count, const char *name);

/** Wipe the line. */
void bw_progress_clear(struct bw_progress *progress);

#endif
