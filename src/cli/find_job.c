/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "find_job.h"

#include "interrupt.h"
#include "run_watch.h"
#include "sweep_point.h"
#include "sweep_strategies.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_MAX = 2 * BW_SWEEP_VALUE_MAX };

/* the last stretch over the first step of the scan, when --within does not say */
#define WITHIN_SHARE 0.01

/* what a worker says about a point before its rows */
struct point_head {
  enum bw_status status; /* not BW_OK: the search has to end */
  struct bw_journal_state one;
};

/* one search: a point of the grid and a strategy */
struct search {
  const struct bw_find_job *job;
  size_t point;
  const struct bw_blend_strategy *strategy;
  size_t failed;
  char failure[256];
};

bool bw_find_is_wanted(const struct bw_arguments *arguments) {
  return bw_arguments_has(arguments, "find");
}

bool bw_find_is_axis(const struct bw_arguments *arguments, const struct bw_setting *setting) {
  const char *along = bw_arguments_value(arguments, "along");
  const size_t length = strcspn(setting->value, "=");
  return along != NULL && strcmp(setting->option->name, "over") == 0 && strlen(along) == length &&
         strncmp(setting->value, along, length) == 0;
}

/* ------------------------------------------------------------------ the command line */

static enum bw_status read_values(struct bw_find_job *job, const char *along,
                                  struct bw_diag *diag) {
  job->count = job->axis.point_count;
  job->value = bw_alloc(job->count, sizeof *job->value);
  if (job->value == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the scan");
  }
  for (size_t i = 0; i < job->count; i++) {
    char text[BW_SWEEP_VALUE_MAX];
    bw_sweep_value(&job->axis, i, 0, text);
    if (!bw_number_parse(text, strlen(text), &job->value[i])) {
      return bw_fail(diag, BW_E_USAGE, "%s is no number and has no way along; name another key",
                     along);
    }
    const double step = i > 0 ? job->value[i] - job->value[i - 1] : 0.0;
    const double first = i > 0 ? job->value[1] - job->value[0] : 0.0;
    if (i > 0 && !(step * first > 0.0)) {
      return bw_fail(diag, BW_E_USAGE,
                     "the values of %s do not go one way; write --over %s=FROM:TO:STEP", along,
                     along);
    }
  }
  return job->count >= 2
             ? BW_OK
             : bw_fail(diag, BW_E_USAGE,
                       "one value of %s is no way to look along; write --over %s=FROM:TO:STEP",
                       along, along);
}

static enum bw_status read_within(struct bw_find_job *job, const struct bw_arguments *arguments,
                                  struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "within");
  job->within = WITHIN_SHARE * fabs(job->value[1] - job->value[0]);
  if (word != NULL &&
      (!bw_number_parse(word, strlen(word), &job->within) || !(job->within > 0.0))) {
    return bw_fail(diag, BW_E_USAGE,
                   "'%.60s' is no length for --within; give a number above 0 in the key's unit",
                   word);
  }
  return BW_OK;
}

/* the axis must not vary elsewhere too: its column would tell values that did not run */
static enum bw_status check_alone(const struct bw_find_job *job, struct bw_diag *diag) {
  const struct bw_sweep_plan *plan = &job->sweep->plan;
  const char *key = bw_sweep_key(&job->axis, 0);
  for (size_t i = 0; i < bw_sweep_column_count(plan); i++) {
    if (strcmp(bw_sweep_column(plan, i), key) == 0) {
      return bw_fail(diag, BW_E_USAGE,
                     "%s is looked along and has a tolerance or a column of --points too; take it "
                     "out there, a tolerance with --set tolerances.%s=none",
                     key, key);
    }
  }
  return BW_OK;
}

enum bw_status bw_find_job_read(struct bw_find_job *job, const struct bw_arguments *arguments,
                                const struct bw_case *loaded, struct bw_diag *diag) {
  const char *along = bw_arguments_value(arguments, "along");
  job->find = bw_arguments_value(arguments, "find");
  job->axis.point_count = 1;
  BW_TRY(bw_condition_read(job->find, &job->condition, diag));
  if (along == NULL) {
    return bw_fail(diag, BW_E_USAGE, "--find does not say along what; add --along KEY");
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (bw_find_is_axis(arguments, &arguments->settings[i])) {
      BW_TRY(bw_sweep_plan_add(&job->axis, bw_case_params(loaded), arguments->settings[i].value,
                               diag));
    }
  }
  if (job->axis.axis_count == 0) {
    return bw_fail(diag, BW_E_USAGE, "--along %.100s has no range; add --over %.100s=FROM:TO:STEP",
                   along, along);
  }
  BW_TRY(check_alone(job, diag));
  BW_TRY(read_values(job, along, diag));
  return read_within(job, arguments, diag);
}

static uint64_t sum_inputs(const struct bw_find_job *job, uint64_t sum) {
  sum = bw_checksum(sum, job->find, strlen(job->find) + 1);
  const char *key = bw_sweep_key(&job->axis, 0);
  sum = bw_checksum(sum, key, strlen(key) + 1);
  sum = bw_checksum(sum, job->value, job->count * sizeof *job->value);
  return bw_checksum(sum, &job->within, sizeof job->within);
}

/* ------------------------------------------------------------------ one run */

static void note_failure(struct search *search, const struct bw_diag *own, enum bw_status status) {
  const char *text = bw_message_bare(bw_diag_text(own, status));
  (void)snprintf(search->failure, sizeof search->failure, "%.255s", text);
  search->failed++;
}

static enum bw_status probe(void *context, double value, enum bw_probe *out) {
  struct search *search = context;
  const struct bw_sweep_job *sweep = search->job->sweep;
  struct bw_case *loaded = NULL;
  struct bw_evaluation evaluation = {0};
  struct bw_diag own = {0};
  *out = BW_PROBE_UNKNOWN;
  char text[TEXT_MAX];
  (void)snprintf(text, sizeof text, "%s=%.15g", bw_sweep_key(&search->job->axis, 0), value);
  enum bw_status status = bw_sweep_point_load(sweep, search->point, text, &loaded, &own);
  if (status == BW_OK) {
    status = bw_run_evaluate_watched(loaded, sweep->controllers, search->strategy, NULL,
                                     &evaluation, &own);
  }
  if (status == BW_OK) {
    *out = bw_condition_probe_summary(&search->job->condition, &evaluation.summary);
  } else if (!bw_status_ends_all(status)) {
    note_failure(search, &own, status);
    status = BW_OK;
  }
  bw_evaluation_free(&evaluation);
  bw_case_destroy(loaded);
  return status;
}

/* ------------------------------------------------------------------ a point of the grid */

/* a piece is a strategy at a point of the grid, strategies fastest */
static bool put_row(const struct bw_find_job *job, size_t piece, const struct bw_edge *edge,
                    const char *failure, FILE *stream) {
  const size_t runs = job->sweep->runs;
  const struct bw_edge_row values = {
      .strategy = bw_sweep_strategy_of(job->sweep, piece / runs, piece % runs)->name,
      .find = job->find,
      .along = bw_sweep_key(&job->axis, 0),
      .within = job->within,
      .failure = failure,
      .edge = *edge};
  struct bw_csv_row row = {.stream = stream};
  bw_sweep_point_put(&job->sweep->plan, piece / runs, &row);
  bw_put_edge_values(&row, &values);
  return !row.has_failed;
}

static enum bw_status search_one(const struct bw_find_job *job, size_t piece, FILE *stream,
                                 struct bw_journal_state *one) {
  const size_t runs = job->sweep->runs;
  struct search search = {.job = job,
                          .point = piece / runs,
                          .strategy = bw_sweep_strategy_of(job->sweep, piece / runs, piece % runs)};
  const struct bw_edge_search along = {job->value, job->count, job->within, &search, probe};
  struct bw_edge edge;
  BW_TRY(bw_find_edge(&along, &edge));
  *one = (struct bw_journal_state){.points = 1, .failed = search.failed};
  return put_row(job, piece, &edge, search.failure, stream) ? BW_OK : (enum bw_status)BW_E_MEMORY;
}

/* in a worker */
static void work(void *context, size_t piece, struct bw_parcel *parcel) {
  const struct bw_find_job *job = context;
  struct point_head head = {.status = BW_E_MEMORY};
  char *bytes = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&bytes, &size);
  if (stream != NULL) {
    head.status = search_one(job, piece, stream, &head.one);
    if (fclose(stream) != 0 && head.status == BW_OK) {
      head.status = BW_E_MEMORY;
    }
  }
  bw_parcel_put(parcel, &head, sizeof head);
  if (head.status == BW_OK) {
    bw_parcel_put(parcel, bytes, size);
  }
  free(bytes); /* NOLINT: of open_memstream */
}

/* a row that knows nothing, for a search whose worker died */
static enum bw_status add_lost(const struct bw_find_job *job, size_t piece, const char *lost,
                               struct bw_diag *diag) {
  const struct bw_edge edge = {.end = BW_EDGE_UNKNOWN,
                               .first = (double)NAN,
                               .clear = (double)NAN,
                               .probes = 1,
                               .unknown = 1};
  char *bytes = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&bytes, &size);
  bool is_made = stream != NULL && put_row(job, piece, &edge, lost, stream);
  is_made = stream != NULL && fclose(stream) == 0 && is_made;
  const struct bw_journal_state one = {.points = 1, .failed = 1};
  const enum bw_status status = is_made
                                    ? bw_journal_add(job->sweep->journal, bytes, size, one, diag)
                                    : bw_fail(diag, BW_E_MEMORY, "out of memory for the rows");
  free(bytes); /* NOLINT: of open_memstream */
  return status;
}

static enum bw_status take(void *context, size_t piece, struct bw_parcel *parcel, const char *lost,
                           struct bw_diag *diag) {
  struct bw_find_job *job = context;
  struct point_head head;
  if (parcel == NULL) {
    return add_lost(job, piece, lost, diag);
  }
  bw_parcel_get(parcel, &head, sizeof head);
  if (parcel->has_failed) {
    return BW_E_INTERNAL;
  }
  if (head.status != BW_OK) {
    return bw_fail(diag, head.status, "search %zu: %s; mend that and go on with --resume",
                   piece + 1, bw_status_text(head.status));
  }
  return bw_journal_add(job->sweep->journal, parcel->bytes + parcel->at, parcel->size - parcel->at,
                        head.one, diag);
}

static void tick(void *context) {
  struct bw_sweep_job *sweep = ((struct bw_find_job *)context)->sweep;
  const struct bw_journal_state state = bw_journal_state(sweep->journal);
  bw_sweep_progress_show(&sweep->progress, state.points, state.failed);
}

size_t bw_find_job_searches(const struct bw_find_job *job) {
  const struct bw_part *part = &job->sweep->part;
  return (part->end - part->first) * job->sweep->runs;
}

static struct bw_sweep_crew crew_of(struct bw_find_job *job) {
  struct bw_sweep_job *sweep = job->sweep;
  return (struct bw_sweep_crew){.end = sweep->part.end * sweep->runs,
                                .workers = sweep->workers > 0 ? sweep->workers : 1, /* 0: unread */
                                .context = job,
                                .work = work,
                                .take = take,
                                .is_cancelled = bw_interrupt_has_come,
                                .tick = tick};
}

enum bw_status bw_find_job_start_ranks(struct bw_find_job *job, enum bw_status prepared,
                                       struct bw_diag *diag) {
  struct bw_sweep_job *sweep = job->sweep;
  char stretch[BW_STRETCH_MAX];
  const struct bw_sweep_crew crew = crew_of(job);
  uint64_t inputs = 0;
  if (prepared == BW_OK) {
    bw_part_stretch(&sweep->part, bw_keep_name(sweep->keep), stretch);
    inputs = bw_checksum(sum_inputs(job, sweep->inputs), stretch, strlen(stretch));
  }
  return bw_ranks_start(&crew, inputs, prepared, &sweep->ranks, diag);
}

enum bw_status bw_find_job_run(struct bw_find_job *job, struct bw_diag *diag) {
  struct bw_sweep_job *sweep = job->sweep;
  struct bw_sweep_crew crew = crew_of(job);
  crew.first = sweep->part.first * sweep->runs + bw_journal_state(sweep->journal).points;
  const enum bw_status status =
      sweep->ranks != NULL ? bw_ranks_run(sweep->ranks, &crew, diag) : bw_sweep_run(&crew, diag);
  bw_sweep_progress_clear(&sweep->progress);
  if (status == BW_E_INTERRUPTED) {
    return bw_fail(diag, status,
                   "interrupted with %zu of %zu searches done; go on with the same command and "
                   "--resume",
                   bw_journal_state(sweep->journal).points, bw_find_job_searches(job));
  }
  return status;
}

enum bw_status bw_find_job_open(struct bw_find_job *job, bool may_resume, struct bw_diag *diag) {
  struct bw_sweep_job *sweep = job->sweep;
  char stretch[BW_STRETCH_MAX];
  bw_part_stretch(&sweep->part, bw_keep_name(sweep->keep), stretch);
  char *header = bw_sweep_job_header(sweep, bw_put_edge_names);
  if (header == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the sweep");
  }
  const struct bw_journal_plan plan = {.name = "find",
                                       .inputs = sum_inputs(job, sweep->inputs),
                                       .stretch = stretch,
                                       .header = header};
  const enum bw_status status =
      bw_journal_open(sweep->out, &plan, may_resume, &sweep->journal, diag);
  free(header); /* NOLINT: of open_memstream */
  return status;
}

static enum bw_status write_card(const struct bw_find_job *job, struct bw_diag *diag) {
  const struct bw_sweep_job *sweep = job->sweep;
  struct bw_part_card card = {.table = "find",
                              .part = sweep->part,
                              .inputs = sum_inputs(job, sweep->inputs),
                              .runs = sweep->runs,
                              .failed = sweep->total.failed};
  (void)snprintf(card.keep, sizeof card.keep, "%s", bw_keep_name(sweep->keep));
  return bw_part_write(sweep->out, bw_journal_rows_path(sweep->journal), &card, diag);
}

enum bw_status bw_find_job_finish(struct bw_find_job *job, FILE *stream, struct bw_diag *diag) {
  struct bw_sweep_job *sweep = job->sweep;
  struct bw_journal *journal = sweep->journal;
  char path[BW_DATA_DIR_MAX];
  sweep->total = bw_journal_state(journal);
  BW_TRY(bw_resolved_file_write(sweep->out, "find", sweep->loaded, diag));
  if (sweep->is_part) {
    BW_TRY(write_card(job, diag));
  }
  sweep->journal = NULL;
  BW_TRY(bw_journal_finish(journal, diag));
  (void)snprintf(path, sizeof path, "%s/find.csv", sweep->out);
  return bw_edge_print(path, stream, diag);
}

void bw_find_job_free(struct bw_find_job *job) {
  bw_sweep_plan_free(&job->axis);
  bw_free(job->value);
}
