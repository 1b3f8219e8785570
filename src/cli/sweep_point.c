/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_point.h"

#include "run_watch.h"
#include "sweep_strategies.h"

#include <stdlib.h>
#include <string.h>

enum { TEXTS_MAX = 2 * BW_SWEEP_VALUE_MAX };

enum bw_status bw_sweep_point_load(const struct bw_sweep_job *job, size_t point, const char *more,
                                   struct bw_case **out, struct bw_diag *diag) {
  size_t count = bw_sweep_key_count(&job->plan);
  struct bw_override *list = bw_alloc(count + 1, sizeof *list);
  char(*text)[TEXTS_MAX] = bw_alloc(count + 1, sizeof *text);
  enum bw_status status = BW_E_MEMORY;
  *out = NULL;
  if (list != NULL && text != NULL) {
    for (size_t i = 0; i < count; i++) {
      char value[BW_SWEEP_VALUE_MAX];
      bw_sweep_value(&job->plan, point, i, value);
      (void)snprintf(text[i], TEXTS_MAX, "%s=%s", bw_sweep_key(&job->plan, i), value);
      list[i].text = text[i];
    }
    if (more != NULL) {
      list[count++].text = more;
    }
    status = bw_case_derive(job->base, list, count, out, diag);
  }
  bw_free(list);
  bw_free(text);
  return status;
}

void bw_sweep_point_put(const struct bw_sweep_plan *plan, size_t point, struct bw_csv_row *row) {
  for (size_t i = 0; i < bw_sweep_column_count(plan); i++) {
    char value[BW_SWEEP_VALUE_MAX];
    bw_sweep_column_value(plan, point, i, value);
    bw_csv_put_text(row, value);
  }
}

static void note_failure(struct bw_result *result, enum bw_status status,
                         const struct bw_diag *own) {
  result->status = status;
  const char *text = bw_message_bare(bw_diag_text(own, status));
  (void)snprintf(result->failure, sizeof result->failure, "%s", text);
}

static enum bw_status evaluate(const struct bw_sweep_job *job, const struct bw_case *loaded,
                               struct bw_result *result, struct bw_trace_csv *trace) {
  struct bw_diag own = {0};
  const enum bw_status status = bw_run_evaluate_watched(loaded, job->controllers, result->strategy,
                                                        trace, &result->evaluation, &own);
  if (status != BW_OK) {
    note_failure(result, status, &own);
  }
  return bw_status_ends_all(status) ? status : BW_OK;
}

/* with the run over time in a file of `folder` */
static enum bw_status evaluate_traced(const struct bw_sweep_job *job, const struct bw_case *loaded,
                                      struct bw_result *result, struct bw_folder *folder,
                                      struct bw_diag *diag) {
  struct bw_trace_csv trace;
  char name[BW_TRACE_FILE_NAME_MAX];
  FILE *stream = NULL;
  bw_trace_csv_name(result->strategy->name, name);
  BW_TRY(bw_folder_create_file(folder, name, &stream, diag));
  bw_trace_csv_start(&trace, loaded, stream);
  const enum bw_status status = evaluate(job, loaded, result, &trace);
  bool is_written = !trace.row.has_failed && status == BW_OK;
  if (result->status != BW_OK && is_written) {
    is_written = bw_trace_csv_cut(stream);
  }
  BW_TRY(bw_folder_close_file(folder, name, stream, is_written, diag));
  return status;
}

/* the rows of a point as they stand in sweep.csv */
static bool write_rows(const struct bw_sweep_job *job, size_t point,
                       const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  for (size_t i = 0; i < results->count; i++) {
    bw_sweep_point_put(&job->plan, point, &row);
    const bool has_failed = results->result[i].status != BW_OK;
    bw_csv_put_text(&row, has_failed ? "failed" : "done");
    bw_csv_put_text(&row, has_failed ? results->result[i].failure : "");
    bw_put_summary_values(&row, results, i);
  }
  return !row.has_failed;
}

static void count_runs(const struct bw_results *results, struct bw_journal_state *one) {
  *one = (struct bw_journal_state){.points = 1};
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[i];
    const struct bw_summary *summary = &result->evaluation.summary;
    if (result->status != BW_OK) {
      one->failed++;
    } else if (summary->verdict == BW_VERDICT_MISSED ||
               bw_verdict_missed(results->loaded, summary) > 0) {
      one->missed++;
    }
  }
}

/* rows of `results`, caller frees *bytes with free() */
static enum bw_status make_rows(const struct bw_sweep_job *job, size_t point,
                                const struct bw_results *results, char **bytes, size_t *size) {
  *bytes = NULL;
  FILE *stream = open_memstream(bytes, size);
  if (stream == NULL) {
    return BW_E_MEMORY;
  }
  const bool is_written = write_rows(job, point, results, stream);
  return fclose(stream) == 0 && is_written ? BW_OK : BW_E_MEMORY;
}

static struct bw_result *make_results(const struct bw_sweep_job *job, size_t point) {
  struct bw_result *list = bw_alloc(job->runs, sizeof *list);
  for (size_t i = 0; i < job->runs && list != NULL; i++) {
    list[i].strategy = bw_sweep_strategy_of(job, point, i);
  }
  return list;
}

static enum bw_status evaluate_all(const struct bw_sweep_job *job, const struct bw_case *loaded,
                                   struct bw_result *list, struct bw_folder *folder,
                                   struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < job->runs && status == BW_OK; i++) {
    status = job->keep == BW_KEEP_TRACES ? evaluate_traced(job, loaded, &list[i], folder, diag)
                                         : evaluate(job, loaded, &list[i], NULL);
  }
  return status;
}

/* the runs of a loaded point, with the files that are kept of it */
static enum bw_status run_loaded(const struct bw_sweep_job *job, size_t point,
                                 const struct bw_case *loaded, struct bw_result *list,
                                 struct bw_diag *diag) {
  struct bw_folder *folder = NULL;
  if (job->keep != BW_KEEP_SUMMARY) {
    BW_TRY(bw_kept_open(job->out, point, &folder, diag));
  }
  enum bw_status status = evaluate_all(job, loaded, list, folder, diag);
  if (status == BW_OK && folder != NULL) {
    const struct bw_results results = {loaded, job->runs, list};
    status = bw_result_files_write(folder, &results, diag);
  }
  if (status != BW_OK || folder == NULL) {
    bw_folder_abandon(folder);
    return status;
  }
  return bw_folder_commit(folder, diag);
}

static void fail_all(const struct bw_sweep_job *job, struct bw_result *list, enum bw_status status,
                     const struct bw_diag *own) {
  for (size_t i = 0; i < job->runs; i++) {
    note_failure(&list[i], status, own);
  }
}

static enum bw_status run_point(const struct bw_sweep_job *job, size_t point,
                                struct bw_result *list, struct bw_sweep_rows *out,
                                struct bw_diag *diag) {
  struct bw_case *loaded = NULL;
  struct bw_diag own = {0};
  enum bw_status status = bw_sweep_point_load(job, point, NULL, &loaded, &own);
  if (status == BW_OK) {
    status = run_loaded(job, point, loaded, list, diag);
  } else if (bw_status_ends_all(status)) {
    *diag = own;
  } else {
    fail_all(job, list, status, &own);
    status = BW_OK;
  }
  if (status == BW_OK) {
    const struct bw_results results = {loaded, job->runs, list};
    count_runs(&results, &out->one);
    status = make_rows(job, point, &results, &out->bytes, &out->size);
  }
  bw_case_destroy(loaded);
  return status;
}

enum bw_status bw_sweep_point_run(const struct bw_sweep_job *job, size_t point,
                                  struct bw_sweep_rows *out, struct bw_diag *diag) {
  *out = (struct bw_sweep_rows){0};
  struct bw_result *list = make_results(job, point);
  const enum bw_status status =
      list != NULL ? run_point(job, point, list, out, diag) : (enum bw_status)BW_E_MEMORY;
  for (size_t i = 0; list != NULL && i < job->runs; i++) {
    bw_evaluation_free(&list[i].evaluation);
  }
  bw_free(list);
  return status;
}

enum bw_status bw_sweep_point_lose(const struct bw_sweep_job *job, size_t point, const char *lost,
                                   struct bw_sweep_rows *out) {
  struct bw_diag own = {0};
  *out = (struct bw_sweep_rows){.one = {.points = 1, .failed = job->runs}};
  struct bw_result *list = make_results(job, point);
  if (list == NULL) {
    return BW_E_MEMORY;
  }
  fail_all(job, list, bw_fail(&own, BW_E_NUMERIC, "%s", lost), &own);
  const struct bw_results results = {NULL, job->runs, list};
  const enum bw_status status = make_rows(job, point, &results, &out->bytes, &out->size);
  bw_free(list);
  return status;
}

void bw_sweep_rows_free(struct bw_sweep_rows *rows) {
  free(rows->bytes); /* NOLINT: of open_memstream */
  *rows = (struct bw_sweep_rows){0};
}
