/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_job.h"

#include "interrupt.h"
#include "sweep_point.h"

#include <stdlib.h>
#include <string.h>

/* s beyond the deadlines of a point's runs until its worker is taken for hung */
#define HUNG_AFTER 10.0
/* bytes of kept files that are worth a warning */
#define LARGE 1e9

/* in a worker */
static void work(void *context, size_t point, struct bw_parcel *parcel) {
  const struct bw_sweep_job *job = context;
  struct bw_sweep_rows rows;
  struct bw_diag own = {0};
  const enum bw_status status = bw_sweep_point_run(job, point, &rows, &own);
  bw_parcel_put_status(parcel, status, &own);
  if (status == BW_OK) {
    bw_parcel_put(parcel, &rows.one, sizeof rows.one);
    bw_parcel_put(parcel, rows.bytes, rows.size);
  }
  bw_sweep_rows_free(&rows);
}

static enum bw_status add_lost(struct bw_sweep_job *job, size_t point, const char *lost,
                               struct bw_diag *diag) {
  struct bw_sweep_rows rows;
  enum bw_status status = bw_sweep_point_lose(job, point, lost, &rows);
  if (status == BW_OK) {
    status = bw_journal_add(job->journal, rows.bytes, rows.size, rows.one, diag);
  }
  bw_sweep_rows_free(&rows);
  return status;
}

static enum bw_status fail_point(size_t point, enum bw_status status, const struct bw_diag *own,
                                 struct bw_diag *diag) {
  const char *text = bw_diag_text(own, status);
  return bw_fail(diag, status, "point %zu: %.400s; mend that and go on with --resume", point + 1,
                 text);
}

static enum bw_status take(void *context, size_t point, struct bw_parcel *parcel, const char *lost,
                           struct bw_diag *diag) {
  struct bw_sweep_job *job = context;
  struct bw_journal_state one = {0};
  struct bw_diag own = {0};
  if (parcel == NULL) {
    return add_lost(job, point, lost, diag);
  }
  const enum bw_status status = bw_parcel_get_status(parcel, &own);
  if (status != BW_OK) {
    return fail_point(point, status, &own, diag);
  }
  bw_parcel_get(parcel, &one, sizeof one);
  if (parcel->has_failed) {
    return BW_E_INTERNAL;
  }
  return bw_journal_add(job->journal, parcel->bytes + parcel->at, parcel->size - parcel->at, one,
                        diag);
}

static void tick(void *context) {
  struct bw_sweep_job *job = context;
  const struct bw_journal_state state = bw_journal_state(job->journal);
  bw_sweep_progress_show(&job->progress, state.points, state.failed);
}

static struct bw_sweep_crew crew_of(struct bw_sweep_job *job) {
  const double deadline = job->controllers->deadline;
  return (struct bw_sweep_crew){
      .end = job->part.end,
      .workers = job->workers > 0 ? job->workers : 1, /* 0: not prepared */
      .deadline = deadline > 0.0 ? deadline * (double)job->runs + HUNG_AFTER : 0.0,
      .context = job,
      .work = work,
      .take = take,
      .is_cancelled = bw_interrupt_has_come,
      .tick = tick};
}

enum bw_status bw_sweep_job_run(struct bw_sweep_job *job, struct bw_diag *diag) {
  struct bw_sweep_crew crew = crew_of(job);
  crew.first = job->part.first + bw_journal_state(job->journal).points;
  const enum bw_status status =
      job->ranks != NULL ? bw_ranks_run(job->ranks, &crew, diag) : bw_sweep_run(&crew, diag);
  bw_sweep_progress_clear(&job->progress);
  if (status == BW_E_INTERRUPTED) {
    return bw_fail(diag, status,
                   "interrupted with %zu of %zu points done; go on with the same command and "
                   "--resume",
                   bw_journal_state(job->journal).points, job->part.end - job->part.first);
  }
  return status;
}

enum bw_status bw_sweep_job_start_ranks(struct bw_sweep_job *job, enum bw_status prepared,
                                        struct bw_diag *diag) {
  char stretch[BW_STRETCH_MAX];
  const struct bw_sweep_crew crew = crew_of(job);
  if (prepared == BW_OK) {
    bw_part_stretch(&job->part, bw_keep_name(job->keep), stretch);
    return bw_ranks_start(&crew, bw_checksum(job->inputs, stretch, strlen(stretch)), prepared,
                          &job->ranks, diag);
  }
  return bw_ranks_start(&crew, 0, prepared, &job->ranks, diag);
}

static bool is_kept(void *context, size_t index, const struct bw_journal_state *one) {
  const struct bw_sweep_job *job = context;
  return one->failed >= job->runs || bw_kept_is_there(job->out, job->part.first + index);
}

static void warn_of_size(const struct bw_sweep_job *job) {
  const size_t points = job->part.end - job->part.first - bw_journal_state(job->journal).points;
  const double bytes = bw_kept_estimate(job->loaded, job->keep, (double)points, (double)job->runs);
  const double room = bw_kept_free(job->out);
  if (bytes > LARGE || (room >= 0.0 && bytes > 0.5 * room)) {
    (void)fprintf(stderr,
                  "brakeweave: --keep %s will take about %.3g GB, %.3g GB are free; keep less, or "
                  "raise output.trace_period_ms\n",
                  bw_keep_name(job->keep), bytes * 1e-9, room * 1e-9);
  }
}

static void put_names(struct bw_csv_row *row) {
  bw_csv_put_text(row, "status");
  bw_csv_put_text(row, "reason");
  bw_put_summary_names(row);
}

enum bw_status bw_sweep_job_open(struct bw_sweep_job *job, bool may_resume, struct bw_diag *diag) {
  char stretch[BW_STRETCH_MAX];
  bw_part_stretch(&job->part, bw_keep_name(job->keep), stretch);
  char *header = bw_sweep_job_header(job, put_names);
  if (header == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the sweep");
  }
  const struct bw_journal_plan plan = {.inputs = job->inputs,
                                       .stretch = stretch,
                                       .header = header,
                                       .is_kept = job->keep != BW_KEEP_SUMMARY ? is_kept : NULL,
                                       .context = job};
  enum bw_status status = bw_journal_open(job->out, &plan, may_resume, &job->journal, diag);
  free(header); /* NOLINT: of open_memstream */
  if (status == BW_OK && job->keep != BW_KEEP_SUMMARY) {
    status = bw_kept_prepare(job->out, diag);
    warn_of_size(job);
  }
  return status;
}

enum bw_status bw_sweep_job_finish(struct bw_sweep_job *job, struct bw_diag *diag) {
  struct bw_journal *journal = job->journal;
  job->total = bw_journal_state(journal);
  BW_TRY(bw_resolved_file_write(job->out, "sweep", job->loaded, diag));
  if (job->is_part) {
    struct bw_part_card card = {.table = "sweep",
                                .part = job->part,
                                .inputs = job->inputs,
                                .runs = job->runs,
                                .failed = job->total.failed,
                                .missed = job->total.missed};
    (void)snprintf(card.keep, sizeof card.keep, "%s", bw_keep_name(job->keep));
    BW_TRY(bw_part_write(job->out, bw_journal_rows_path(journal), &card, diag));
  } else {
    /* before the last step: killed in between, the sweep is still one to go on with */
    BW_TRY(bw_sweep_statistics_write(bw_journal_rows_path(journal), job->out, diag));
  }
  job->journal = NULL;
  return bw_journal_finish(journal, diag);
}

char *bw_sweep_job_header(const struct bw_sweep_job *job,
                          void (*put_rest)(struct bw_csv_row *row)) {
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
  put_rest(&row);
  if (fclose(stream) != 0 || row.has_failed) {
    free(text); /* NOLINT: of open_memstream */
    return NULL;
  }
  return text;
}

void bw_sweep_job_free(struct bw_sweep_job *job) {
  bw_journal_leave(job->journal);
  bw_ranks_end(job->ranks);
  bw_case_destroy(job->loaded);
  bw_case_base_destroy(job->base);
  bw_draws_destroy(job->plan.draws);
  bw_sweep_plan_free(&job->plan);
  bw_csv_free(&job->points);
  bw_free(job->sets);
  bw_free(job->strategies);
}
