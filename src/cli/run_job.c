/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "run_job.h"

#include "interrupt.h"

#include <string.h>
#include <time.h>

/* who watches a run: the interrupt, and the trace file and the price of comfort if asked for */
struct watch {
  struct bw_trace_csv *trace; /* NULL: no trace */
  struct bw_comfort *comfort; /* NULL: no bounds */
};

static enum bw_status watch_run(void *context, const struct bw_sample *sample,
                                struct bw_diag *diag) {
  const struct watch *watch = context;
  if (bw_interrupt_has_come()) {
    return BW_E_INTERRUPTED;
  }
  if (watch->comfort != NULL) {
    bw_comfort_watch(watch->comfort, sample);
  }
  return watch->trace == NULL ? BW_OK : bw_trace_csv_watch(watch->trace, sample, diag);
}

/* NULL when no bounds are asked for */
static struct bw_comfort *start_comfort(const struct bw_run_job *job, struct bw_result *result) {
  if (job->comfort == NULL) {
    return NULL;
  }
  struct bw_comfort *comfort = &job->comfort[result - job->results];
  bw_comfort_start(comfort, job->loaded);
  result->comfort = comfort;
  return comfort;
}

static double clock_seconds(void) {
  struct timespec now = {0};
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* failures of one strategy only */
static bool can_go_on(enum bw_status status) {
  return status == BW_E_NUMERIC || status == BW_E_USAGE || status == BW_E_INPUT ||
         status == BW_E_RANGE;
}

/* keep the first message of `own`, and pass them all on with the strategy's name */
static void note_failure(struct bw_result *result, const struct bw_diag *own,
                         struct bw_diag *diag) {
  static const char prefix[] = "brakeweave: ";
  for (size_t i = 0; i < own->count && i < BW_DIAG_LINES; i++) {
    const char *text = own->line[i];
    if (strncmp(text, prefix, sizeof prefix - 1) == 0) {
      text += sizeof prefix - 1;
    }
    if (i == 0) {
      (void)snprintf(result->failure, sizeof result->failure, "%s", text);
    }
    (void)bw_fail(diag, result->status, "strategy '%s' failed: %s", result->strategy->name, text);
  }
  if (own->count == 0) {
    (void)snprintf(result->failure, sizeof result->failure, "%s", bw_status_text(result->status));
  }
}

/* a loaded controller runs in a process of its own */
static enum bw_status evaluate(const struct bw_run_job *job, struct bw_result *result,
                               const struct bw_observer *observer, struct bw_diag *own) {
  const struct bw_plugin *plugin = bw_controllers_find(job->controllers, result->strategy);
  if (plugin == NULL) {
    return bw_evaluate(job->loaded, result->strategy, observer, &result->evaluation, own);
  }
  const struct bw_containment containment =
      bw_controllers_containment(job->controllers, job->loaded);
  return bw_evaluate_contained(job->loaded, plugin, &containment, observer, &result->evaluation,
                               own);
}

static enum bw_status evaluate_traced(struct bw_run_job *job, struct bw_result *result,
                                      struct bw_diag *own, struct bw_diag *diag) {
  struct bw_trace_csv trace;
  struct watch watch = {.trace = &trace, .comfort = start_comfort(job, result)};
  const struct bw_observer observer = {.context = &watch, .watch = watch_run};
  char name[BW_TRACE_FILE_NAME_MAX];
  FILE *stream = NULL;
  bw_trace_csv_name(result->strategy->name, name);
  BW_TRY(bw_folder_create_file(job->folder, name, &stream, diag));
  bw_trace_csv_start(&trace, job->loaded, stream);
  result->status = evaluate(job, result, &observer, own);
  bool is_written = !trace.row.has_failed && result->status != BW_E_IO;
  if (result->status != BW_OK && is_written) {
    is_written = bw_trace_csv_cut(stream);
  }
  return bw_folder_close_file(job->folder, name, stream, is_written, diag);
}

static enum bw_status evaluate_one(struct bw_run_job *job, struct bw_result *result,
                                   struct bw_diag *diag) {
  const double start = clock_seconds();
  struct bw_diag own = {0};
  if (job->has_trace) {
    BW_TRY(evaluate_traced(job, result, &own, diag));
  } else {
    struct watch watch = {.comfort = start_comfort(job, result)};
    const struct bw_observer observer = {.context = &watch, .watch = watch_run};
    result->status = evaluate(job, result, &observer, &own);
  }
  if (result->status != BW_OK) {
    note_failure(result, &own, diag);
    return can_go_on(result->status) ? BW_OK : result->status;
  }
  if (job->is_verbose) {
    bw_progress_clear(&job->progress);
    (void)fprintf(stderr, "brakeweave: %s took %.0f ms\n", result->strategy->name,
                  (clock_seconds() - start) * 1e3);
  }
  return BW_OK;
}

enum bw_status bw_run_job_evaluate(struct bw_run_job *job, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < job->count && status == BW_OK; i++) {
    struct bw_result *result = &job->results[i];
    result->strategy = job->strategies[i];
    bw_progress_show(&job->progress, i, job->count, result->strategy->name);
    status = evaluate_one(job, result, diag);
    job->done += status == BW_OK ? 1 : 0;
  }
  bw_progress_clear(&job->progress);
  if (status == BW_E_INTERRUPTED) {
    return bw_fail(diag, status, "interrupted with %zu of %zu strategies done; nothing written",
                   job->done, job->count);
  }
  return status;
}

static bool write_resolved(const struct bw_results *results, FILE *stream) {
  return bw_param_write_resolved(results->loaded, stream);
}

static enum bw_status write_files(struct bw_run_job *job, struct bw_diag *diag) {
  static const struct {
    const char *name;
    bool (*write)(const struct bw_results *results, FILE *stream);
  } files[] = {
      {"summary.csv", bw_write_summary_csv},     {"events.csv", bw_write_events_csv},
      {"handovers.csv", bw_write_handovers_csv}, {"ledger.csv", bw_write_ledger_csv},
      {"waterfall.csv", bw_write_waterfall_csv}, {"resolved.cfg", write_resolved},
      {"comfort.csv", bw_write_comfort_csv},
  };
  const size_t count = sizeof files / sizeof files[0] - (job->comfort == NULL ? 1 : 0);
  const struct bw_results results = {job->loaded, job->count, job->results};
  for (size_t i = 0; i < count; i++) {
    FILE *stream = NULL;
    BW_TRY(bw_folder_create_file(job->folder, files[i].name, &stream, diag));
    const bool is_written = files[i].write(&results, stream);
    BW_TRY(bw_folder_close_file(job->folder, files[i].name, stream, is_written, diag));
  }
  return BW_OK;
}

enum bw_status bw_run_job_write(struct bw_run_job *job, struct bw_diag *diag) {
  BW_TRY(write_files(job, diag));
  if (bw_interrupt_has_come()) {
    return bw_fail(diag, BW_E_INTERRUPTED, "interrupted while writing; nothing written");
  }
  struct bw_folder *folder = job->folder;
  job->folder = NULL;
  return bw_folder_commit(folder, diag);
}

int bw_run_job_exit(const struct bw_run_job *job) {
  int exit_status = 0;
  for (size_t i = 0; i < job->done; i++) {
    const struct bw_result *result = &job->results[i];
    if (result->status != BW_OK) {
      return bw_status_exit(result->status);
    }
    const struct bw_summary *summary = &result->evaluation.summary;
    /* a run that is not ranked may have missed a limit too */
    if (summary->verdict == BW_VERDICT_MISSED || bw_verdict_missed(job->loaded, summary) > 0) {
      exit_status = bw_status_exit(BW_E_LIMIT);
    }
  }
  return exit_status;
}

void bw_run_job_free(struct bw_run_job *job) {
  for (size_t i = 0; job->results != NULL && i < job->count; i++) {
    bw_evaluation_free(&job->results[i].evaluation);
  }
  bw_contain_unshare(job->comfort, job->count * sizeof *job->comfort);
  bw_free(job->results);
  bw_free(job->strategies);
  bw_folder_abandon(job->folder);
}
