/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_progress.h"

#include "run_watch.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

/* s between two looks */
#define TERMINAL_PERIOD 0.5
#define LINES_PERIOD    10.0

/* s from which on people want hours */
#define HOURS_FROM 6000.0

struct bw_sweep_progress bw_sweep_progress_make(bool is_quiet, bool has_lines, const char *what,
                                                size_t first, size_t count) {
  const double now = bw_clock_seconds();
  const bool is_terminal = !is_quiet && isatty(STDERR_FILENO) == 1;
  return (struct bw_sweep_progress){.is_terminal = is_terminal,
                                    .has_lines = has_lines && !is_quiet && !is_terminal,
                                    .what = what,
                                    .count = count,
                                    .first = first,
                                    .start = now,
                                    .shown = now};
}

static void print_left(double seconds, char *text, size_t size) {
  if (seconds < HOURS_FROM) {
    (void)snprintf(text, size, "%.0f s", seconds);
  } else {
    const double minutes = floor(seconds / 60.0);
    (void)snprintf(text, size, "%.0f h %02.0f min", floor(minutes / 60.0), fmod(minutes, 60.0));
  }
}

void bw_sweep_progress_show(struct bw_sweep_progress *progress, size_t done, size_t failed) {
  const double now = bw_clock_seconds();
  const double period = progress->is_terminal ? TERMINAL_PERIOD : LINES_PERIOD;
  if ((!progress->is_terminal && !progress->has_lines) || now - progress->shown < period) {
    return;
  }
  progress->shown = now;
  const double rate = (double)(done - progress->first) / (now - progress->start);
  char left[64] = "unknown";
  if (rate > 0.0) {
    print_left((double)(progress->count - done) / rate, left, sizeof left);
  }
  bw_sweep_progress_clear(progress);
  const int width = fprintf(stderr, "%zu of %zu %s, %.3g per second, %s left, %zu runs failed%s",
                            done, progress->count, progress->what, rate, left, failed,
                            progress->is_terminal ? "" : "\n");
  progress->width = progress->is_terminal && width > 0 ? (size_t)width : 0;
}

void bw_sweep_progress_clear(struct bw_sweep_progress *progress) {
  if (progress->width > 0) {
    (void)fprintf(stderr, "\r%*s\r", (int)progress->width, "");
    progress->width = 0;
  }
}
