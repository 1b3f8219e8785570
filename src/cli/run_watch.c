/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "run_watch.h"

#include "interrupt.h"

#include <time.h>

enum { LOOK_EVERY = 64 /* control periods; far less than a millisecond */ };

double bw_clock_seconds(void) {
  struct timespec now = {0};
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

struct bw_run_watch bw_run_watch_make(double deadline) {
  return (struct bw_run_watch){.deadline = deadline,
                               .due = deadline > 0.0 ? bw_clock_seconds() + deadline : 0.0};
}

/* whether the run may go on */
static enum bw_status look(const struct bw_run_watch *watch, struct bw_diag *diag) {
  if (watch->may_interrupt && bw_interrupt_has_come()) {
    return BW_E_INTERRUPTED;
  }
  if (watch->deadline > 0.0 && bw_clock_seconds() > watch->due) {
    return bw_fail(diag, BW_E_NUMERIC, "not done after %g s of wall time; give a longer --deadline",
                   watch->deadline);
  }
  return BW_OK;
}

enum bw_status bw_run_watch_sample(void *context, const struct bw_sample *sample,
                                   struct bw_diag *diag) {
  struct bw_run_watch *watch = context;
  if (watch->seen++ % LOOK_EVERY == 0) {
    BW_TRY(look(watch, diag));
  }
  if (watch->comfort != NULL) {
    bw_comfort_watch(watch->comfort, sample);
  }
  return watch->trace == NULL ? BW_OK : bw_trace_csv_watch(watch->trace, sample, diag);
}

enum bw_status bw_run_evaluate(const struct bw_case *loaded,
                               const struct bw_controllers *controllers,
                               const struct bw_blend_strategy *strategy,
                               const struct bw_observer *observer, struct bw_evaluation *out,
                               struct bw_diag *diag) {
  const struct bw_plugin *plugin = bw_controllers_find(controllers, strategy);
  if (plugin == NULL) {
    return bw_evaluate(loaded, strategy, observer, out, diag);
  }
  const struct bw_containment containment = bw_controllers_containment(controllers, loaded);
  return bw_evaluate_contained(loaded, plugin, &containment, observer, out, diag);
}

enum bw_status bw_run_evaluate_watched(const struct bw_case *loaded,
                                       const struct bw_controllers *controllers,
                                       const struct bw_blend_strategy *strategy,
                                       struct bw_trace_csv *trace, struct bw_evaluation *out,
                                       struct bw_diag *diag) {
  struct bw_run_watch watch = bw_run_watch_make(controllers->deadline);
  watch.trace = trace;
  const struct bw_observer observer = {.context = &watch, .watch = bw_run_watch_sample};
  const bool is_watched = trace != NULL || controllers->deadline > 0.0;
  return bw_run_evaluate(loaded, controllers, strategy, is_watched ? &observer : NULL, out, diag);
}
