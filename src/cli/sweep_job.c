/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_job.h"

#include "interrupt.h"

#include <stdlib.h>
#include <string.h>

/* what a worker says about a point before its rows */
struct point_head {
  enum bw_status status; /* not BW_OK: the sweep has to end */
  struct bw_journal_state one;
};

enum { TEXTS_MAX = 2 * BW_SWEEP_VALUE_MAX };

/* texts of all overrides of a point, --set first */
struct overrides {
  struct bw_override *list;
  char (*text)[TEXTS_MAX];
  size_t count;
};

static void free_overrides(struct overrides *overrides) {
  bw_free(overrides->list);
  bw_free(overrides->text);
}

static bool make_overrides(const struct bw_sweep_job *job, size_t point, struct overrides *out) {
  const size_t keys = bw_sweep_key_count(&job->plan);
  *out = (struct overrides){.count = job->set_count + keys};
  out->list = bw_alloc(out->count + 1, sizeof *out->list);
  out->text = bw_alloc(keys + 1, sizeof *out->text);
  if (out->list == NULL || out->text == NULL) {
    return false;
  }
  for (size_t i = 0; i < job->set_count; i++) {
    out->list[i].text = job->sets[i];
  }
  for (size_t i = 0; i < keys; i++) {
    char value[BW_SWEEP_VALUE_MAX];
    bw_sweep_value(&job->plan, point, i, value);
    (void)snprintf(out->text[i], TEXTS_MAX, "%s=%s", bw_sweep_key(&job->plan, i), value);
    out->list[job->set_count + i].text = out->text[i];
  }
  return true;
}

static enum bw_status load_point(const struct bw_sweep_job *job, size_t point, struct bw_case **out,
                                 struct bw_diag *diag) {
  struct overrides overrides;
  *out = NULL;
  enum bw_status status = BW_E_MEMORY;
  if (make_overrides(job, point, &overrides)) {
    const struct bw_case_source source = {job->case_path, job->data_dir, overrides.count,
                                          overrides.list};
    const struct bw_extra_strategies extra = bw_controllers_extra(job->controllers);
    status = bw_case_load_with(&source, &extra, out, diag);
  }
  free_overrides(&overrides);
  return status;
}

static bool ends_the_sweep(enum bw_status status) {
  return status == BW_E_IO || status == BW_E_MEMORY || status == BW_E_INTERRUPTED ||
         status == BW_E_INTERNAL;
}

static void note_failure(struct bw_result *result, enum bw_status status,
                         const struct bw_diag *own) {
  static const char prefix[] = "brakeweave: ";
  result->status = status;
  const char *text = own->count > 0 ? own->line[0] : bw_status_text(status);
  const size_t skip = strncmp(text, prefix, sizeof prefix - 1) == 0 ? sizeof prefix - 1 : 0;
  (void)snprintf(result->failure, sizeof result->failure, "%s", text + skip);
}

static enum bw_status evaluate(const struct bw_sweep_job *job, const struct bw_case *loaded,
                               struct bw_result *result) {
  struct bw_diag own = {0};
  enum bw_status status = BW_OK;
  const struct bw_plugin *plugin = bw_controllers_find(job->controllers, result->strategy);
  if (plugin == NULL) {
    status = bw_evaluate(loaded, result->strategy, NULL, &result->evaluation, &own);
  } else {
    const struct bw_containment containment = bw_controllers_containment(job->controllers, loaded);
    status = bw_evaluate_contained(loaded, plugin, &containment, NULL, &result->evaluation, &own);
  }
  if (status != BW_OK) {
    note_failure(result, status, &own);
  }
  return ends_the_sweep(status) ? status : BW_OK;
}

/* the rows of a point as they stand in sweep.csv */
static bool write_rows(const struct bw_sweep_job *job, size_t point,
                       const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  for (size_t i = 0; i < results->count; i++) {
    for (size_t k = 0; k < bw_sweep_column_count(&job->plan); k++) {
      char value[BW_SWEEP_VALUE_MAX];
      bw_sweep_column_value(&job->plan, point, k, value);
      bw_csv_put_text(&row, value);
    }
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

static struct bw_result *make_results(const struct bw_sweep_job *job) {
  struct bw_result *list = bw_alloc(job->strategy_count, sizeof *list);
  for (size_t i = 0; i < job->strategy_count && list != NULL; i++) {
    list[i].strategy = job->strategies[i];
  }
  return list;
}

static enum bw_status run_point(const struct bw_sweep_job *job, size_t point,
                                struct bw_result *list, struct bw_parcel *parcel) {
  struct bw_case *loaded = NULL;
  struct bw_diag own = {0};
  enum bw_status status = load_point(job, point, &loaded, &own);
  const bool is_bad = status != BW_OK && !ends_the_sweep(status);
  for (size_t i = 0; i < job->strategy_count && is_bad; i++) {
    note_failure(&list[i], status, &own);
  }
  status = is_bad ? BW_OK : status;
  for (size_t i = 0; i < job->strategy_count && status == BW_OK && !is_bad; i++) {
    status = evaluate(job, loaded, &list[i]);
  }
  if (status == BW_OK) {
    const struct bw_results results = {loaded, job->strategy_count, list};
    struct point_head head = {.status = BW_OK};
    char *bytes = NULL;
    size_t size = 0;
    count_runs(&results, &head.one);
    status = make_rows(job, point, &results, &bytes, &size);
    if (status == BW_OK) {
      bw_parcel_put(parcel, &head, sizeof head);
      bw_parcel_put(parcel, bytes, size);
    }
    free(bytes); /* NOLINT: of open_memstream */
  }
  bw_case_destroy(loaded);
  return status;
}

/* in a worker */
static void work(void *context, size_t point, struct bw_parcel *parcel) {
  const struct bw_sweep_job *job = context;
  struct bw_result *list = make_results(job);
  const enum bw_status status =
      list != NULL ? run_point(job, point, list, parcel) : (enum bw_status)BW_E_MEMORY;
  if (status != BW_OK) {
    const struct point_head head = {.status = status};
    bw_parcel_put(parcel, &head, sizeof head);
  }
  for (size_t i = 0; list != NULL && i < job->strategy_count; i++) {
    bw_evaluation_free(&list[i].evaluation);
  }
  bw_free(list);
}

/* a row per strategy for a point whose worker died */
static enum bw_status add_lost(struct bw_sweep_job *job, size_t point, const char *lost,
                               struct bw_diag *diag) {
  struct bw_result *list = make_results(job);
  char *bytes = NULL;
  size_t size = 0;
  enum bw_status status = BW_E_MEMORY;
  if (list != NULL) {
    struct bw_diag own = {0};
    for (size_t i = 0; i < job->strategy_count; i++) {
      note_failure(&list[i], bw_fail(&own, BW_E_NUMERIC, "%s", lost), &own);
    }
    const struct bw_results results = {NULL, job->strategy_count, list};
    status = make_rows(job, point, &results, &bytes, &size);
  }
  if (status == BW_OK) {
    const struct bw_journal_state one = {.points = 1, .failed = job->strategy_count};
    status = bw_journal_add(job->journal, bytes, size, one, diag);
  }
  free(bytes); /* NOLINT: of open_memstream */
  bw_free(list);
  return status;
}

static enum bw_status take(void *context, size_t point, struct bw_parcel *parcel, const char *lost,
                           struct bw_diag *diag) {
  struct bw_sweep_job *job = context;
  if (parcel == NULL) {
    return add_lost(job, point, lost, diag);
  }
  struct point_head head;
  bw_parcel_get(parcel, &head, sizeof head);
  if (parcel->has_failed) {
    return BW_E_INTERNAL;
  }
  if (head.status != BW_OK) {
    return bw_fail(diag, head.status, "point %zu: %s; mend that and go on with --resume", point + 1,
                   bw_status_text(head.status));
  }
  return bw_journal_add(job->journal, parcel->bytes + parcel->at, parcel->size - parcel->at,
                        head.one, diag);
}

static void tick(void *context) {
  struct bw_sweep_job *job = context;
  const struct bw_journal_state state = bw_journal_state(job->journal);
  bw_sweep_progress_show(&job->progress, state.points, state.failed);
}

enum bw_status bw_sweep_job_run(struct bw_sweep_job *job, size_t workers, struct bw_diag *diag) {
  const struct bw_sweep_crew crew = {.first = bw_journal_state(job->journal).points,
                                     .end = job->plan.point_count,
                                     .workers = workers,
                                     .context = job,
                                     .work = work,
                                     .take = take,
                                     .is_cancelled = bw_interrupt_has_come,
                                     .tick = tick};
  const enum bw_status status = bw_sweep_run(&crew, diag);
  bw_sweep_progress_clear(&job->progress);
  if (status == BW_E_INTERRUPTED) {
    return bw_fail(diag, status,
                   "interrupted with %zu of %zu points done; go on with the same command and "
                   "--resume",
                   bw_journal_state(job->journal).points, job->plan.point_count);
  }
  return status;
}

char *bw_sweep_job_header(const struct bw_sweep_job *job) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  if (stream == NULL) {
    return NULL;
  }
  struct bw_csv_row row = {.stream = stream};
  for (size_t i = 0; i < bw_sweep_column_count(&job->plan); i++) {
    bw_csv_put_text(&row, bw_sweep_column(&job->plan, i));
  }
  bw_csv_put_text(&row, "status");
  bw_csv_put_text(&row, "reason");
  bw_put_summary_names(&row);
  if (fclose(stream) != 0 || row.has_failed) {
    free(text); /* NOLINT: of open_memstream */
    return NULL;
  }
  return text;
}

void bw_sweep_job_free(struct bw_sweep_job *job) {
  bw_journal_leave(job->journal);
  bw_draws_destroy(job->plan.draws);
  bw_sweep_plan_free(&job->plan);
  bw_csv_free(&job->points);
  bw_free(job->sets);
  bw_free(job->strategies);
}
