/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RUN_WATCH_H
#define BW_RUN_WATCH_H

#include "brakeweave.h"
#include "controllers.h"

/** Who watches one run: its trace file, the price of comfort, interrupt and deadline. */
struct bw_run_watch {
  struct bw_trace_csv *trace; /**< NULL: no trace */
  struct bw_comfort *comfort; /**< NULL: no bounds */
  bool may_interrupt;         /**< an interrupt ends the run */
  double deadline;            /**< s of wall time, 0: none */
  double due;                 /**< s on the monotonic clock */
  size_t seen;                /**< control periods so far */
};

/** With a deadline (s) that counts from now, 0: none. */
struct bw_run_watch bw_run_watch_make(double deadline);

/** struct bw_observer.watch of a struct bw_run_watch. BW_E_NUMERIC past the deadline,
 *  BW_E_INTERRUPTED. */
enum bw_status bw_run_watch_sample(void *context, const struct bw_sample *sample,
                                   struct bw_diag *diag);

/** bw_evaluate(), or in a process of its own for a loaded controller. */
BW_MUST_CHECK enum bw_status bw_run_evaluate(const struct bw_case *loaded,
                                             const struct bw_controllers *controllers,
                                             const struct bw_blend_strategy *strategy,
                                             const struct bw_observer *observer,
                                             struct bw_evaluation *out, struct bw_diag *diag);

/** The same under --deadline and with the run written to `trace` (NULL: no trace). */
BW_MUST_CHECK enum bw_status bw_run_evaluate_watched(const struct bw_case *loaded,
                                                     const struct bw_controllers *controllers,
                                                     const struct bw_blend_strategy *strategy,
                                                     struct bw_trace_csv *trace,
                                                     struct bw_evaluation *out,
                                                     struct bw_diag *diag);

/** s on the monotonic clock. */
double bw_clock_seconds(void);

#endif
