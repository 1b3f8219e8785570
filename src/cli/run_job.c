/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "run_job.h"

#include "interrupt.h"
#include "run_watch.h"

#include <string.h>

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

/* keep the first message of `own`, and pass them all on with the strategy's name */
static void note_failure(struct bw_result *result, const struct bw_diag *own,
                         struct bw_diag *diag) {
  for (size_t i = 0; i < own->count && i < BW_DIAG_LINES; i++) {
    const char *text = bw_message_bare(own->line[i]);
    if (i == 0) {
      (void)snprintf(result->failure, sizeof result->failure, "%s", text);
    }
    (void)bw_fail(diag, result->status, "strategy '%s' failed: %s", result->strategy->name, text);
  }
  if (own->count == 0) {
    (void)snprintf(result->failure, sizeof result->failure, "%s", bw_status_text(result->status));
  }
}

static struct bw_run_watch start_watch(const struct bw_run_job *job, struct bw_result *result) {
  struct bw_run_watch watch = bw_run_watch_make(job->controllers->deadline);
  watch.comfort = start_comfort(job, result);
  watch.may_interrupt = true;
  return watch;
}

static enum bw_status evaluate(const struct bw_run_job *job, struct bw_result *result,
                               struct bw_run_watch *watch, struct bw_diag *own) {
  const struct bw_observer observer = {.context = watch, .watch = bw_run_watch_sample};
  return bw_run_evaluate(job->loaded, job->controllers, result->strategy, &observer,
                         &result->evaluation, own);
}

static enum bw_status evaluate_traced(struct bw_run_job *job, struct bw_result *result,
                                      struct bw_diag *own, struct bw_diag *diag) {
  struct bw_trace_csv trace;
  struct bw_run_watch watch = start_watch(job, result);
  watch.trace = &trace;
  char name[BW_TRACE_FILE_NAME_MAX];
  FILE *stream = NULL;
  bw_trace_csv_name(result->strategy->name, name);
  BW_TRY(bw_folder_create_file(job->folder, name, &stream, diag));
  bw_trace_csv_start(&trace, job->loaded, stream);
  result->status = evaluate(job, result, &watch, own);
  bool is_written = !trace.row.has_failed && result->status != BW_E_IO;
  if (result->status != BW_OK && is_written) {
    is_written = bw_trace_csv_cut(stream);
  }
  return bw_folder_close_file(job->folder, name, stream, is_written, diag);
}

static enum bw_status evaluate_one(struct bw_run_job *job, struct bw_result *result,
                                   struct bw_diag *diag) {
  const double start = bw_clock_seconds();
  struct bw_diag own = {0};
  if (job->has_trace) {
    BW_TRY(evaluate_traced(job, result, &own, diag));
  } else {
    struct bw_run_watch watch = start_watch(job, result);
    result->status = evaluate(job, result, &watch, &own);
  }
  if (result->status != BW_OK) {
    note_failure(result, &own, diag);
    return bw_status_ends_all(result->status) ? result->status : BW_OK;
  }
  if (job->is_verbose) {
    bw_progress_clear(&job->progress);
    (void)fprintf(stderr, "brakeweave: %s took %.0f ms\n", result->strategy->name,
                  (bw_clock_seconds() - start) * 1e3);
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

/* of a run only: the points of a sweep would all keep the same one */
static enum bw_status write_map(const struct bw_run_job *job, struct bw_diag *diag) {
  static const char name[] = "regeneration-map.csv";
  FILE *stream = NULL;
  BW_TRY(bw_folder_create_file(job->folder, name, &stream, diag));
  const bool is_written = bw_write_regeneration_csv(job->loaded, stream);
  return bw_folder_close_file(job->folder, name, stream, is_written, diag);
}

enum bw_status bw_run_job_write(struct bw_run_job *job, struct bw_diag *diag) {
  const struct bw_results results = {job->loaded, job->count, job->results};
  BW_TRY(bw_result_files_write(job->folder, &results, diag));
  BW_TRY(write_map(job, diag));
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
