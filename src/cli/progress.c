/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "progress.h"

#include <stdio.h>
#include <unistd.h>

struct bw_progress bw_progress_make(bool is_quiet) {
  return (struct bw_progress){.is_shown = !is_quiet && isatty(STDERR_FILENO) == 1};
}

void bw_progress_show(struct bw_progress *progress, size_t index, size_t count, const char *name) {
  if (!progress->is_shown) {
    return;
  }
  bw_progress_clear(progress);
  const int width =
      fprintf(stderr, "%s %zu of %zu: %s", progress->noun != NULL ? progress->noun : "strategy",
              index + 1, count, name);
  progress->width = width > 0 ? (size_t)width : 0;
}

/* blanks rather than an escape sequence: works on every terminal */
void bw_progress_clear(struct bw_progress *progress) {
  if (progress->width > 0) {
    (void)fprintf(stderr, "\r%*s\r", (int)progress->width, "");
    progress->width = 0;
  }
}
