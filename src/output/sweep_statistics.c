/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/sweep_statistics.h"

#include "alloc.h"
#include "assess/summary.h"
#include "batch/selection.h"
#include "batch/sobol_index.h"
#include "output/csv_write.h"
#include "output/path.h"
#include "output/sweep_series.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { NAME_SIZE = 200, SHARES = 5, PARTS_BESIDE_KEYS = 2 };

static const double SHARE[SHARES] = {0.01, 0.05, 0.50, 0.95, 0.99};

struct job {
  const char *folder;
  struct bw_sweep_table *table;
  struct bw_sweep_columns columns;
  size_t figures;
  size_t series_count; /* strategies seen so far */
  struct bw_series *series;
  char *group; /* values of the group's keys, one behind the other */
  size_t group_size;
  size_t number; /* of the last data row */
  struct bw_sobol *sobol;
  struct bw_sobol_estimate *first; /* (keys) */
  struct bw_sobol_estimate *total;
  double *parts; /* (keys + 2) */
  struct bw_csv_row out;
  struct bw_diag *diag;
};

static size_t key_count(const struct job *job) {
  return job->columns.status - job->columns.keys_from;
}

static enum bw_status fail_memory(const struct job *job) {
  return bw_fail(job->diag, BW_E_MEMORY, "out of memory for the statistics");
}

/* ------------------------------------------------------------------ header */

static void put_key_names(struct job *job, const char *prefix) {
  for (size_t i = job->columns.keys_from; i < job->columns.status; i++) {
    char name[NAME_SIZE];
    (void)snprintf(name, sizeof name, "%s.%s", prefix, bw_sweep_table_name(job->table, i));
    bw_csv_put_text(&job->out, name);
  }
}

static void put_header(struct job *job) {
  static const char *const fixed[] = {
      "strategy", "column", "runs", "failed", "missed", "values", "mean",     "std",   "min",
      "p01",      "p05",    "p50",  "p95",    "p99",    "max",    "worst_is", "worst", "worst_row"};
  static const char *const indices[] = {"first_order", "first_order_low", "first_order_high",
                                        "total",       "total_low",       "total_high"};
  for (size_t i = 0; i < job->columns.group_to; i++) {
    bw_csv_put_text(&job->out, bw_sweep_table_name(job->table, i));
  }
  for (size_t i = 0; i < sizeof fixed / sizeof fixed[0]; i++) {
    bw_csv_put_text(&job->out, fixed[i]);
  }
  put_key_names(job, "worst");
  if (job->columns.has_parts) {
    bw_csv_put_text(&job->out, "draws");
    for (size_t i = 0; i < sizeof indices / sizeof indices[0]; i++) {
      put_key_names(job, indices[i]);
    }
  }
  bw_csv_end_row(&job->out);
}

/* ------------------------------------------------------------------ one figure of a series */

struct column {
  struct bw_column_store *store;
  size_t index;
};

static size_t read_column(void *context, size_t from, double *values, size_t room) {
  const struct column *column = context;
  return bw_column_store_read(column->store, column->index, from, values, room);
}

static void put_spread(struct job *job, const struct bw_series *series, size_t index) {
  const struct bw_series_figure *figure = &series->figure[index];
  double quantile[SHARES];
  const bool has_values = figure->values > 0;
  for (int i = 0; i < SHARES; i++) {
    quantile[i] = (double)NAN;
  }
  if (has_values) {
    struct column column = {series->store, index};
    const struct bw_values values = {&column, read_column};
    bw_select_quantiles(&values, figure->values, SHARE, SHARES, quantile);
  }
  bw_csv_put_count(&job->out, figure->values);
  bw_csv_put_number(&job->out, has_values ? figure->mean : (double)NAN);
  bw_csv_put_number(&job->out, bw_series_deviation(figure));
  bw_csv_put_number(&job->out, has_values ? figure->min : (double)NAN);
  for (int i = 0; i < SHARES; i++) {
    bw_csv_put_number(&job->out, quantile[i]);
  }
  bw_csv_put_number(&job->out, has_values ? figure->max : (double)NAN);
}

/* the table stands at the worst row, if there is one */
static void put_worst(struct job *job, const struct bw_series_figure *figure, enum bw_worst worst) {
  const bool is_there = worst != BW_WORST_NONE && figure->values > 0;
  const bool is_high = worst == BW_WORST_HIGH;
  bw_csv_put_text(&job->out, worst == BW_WORST_NONE ? "" : is_high ? "high" : "low");
  bw_csv_put_number(&job->out, !is_there ? (double)NAN : is_high ? figure->max : figure->min);
  if (is_there) {
    bw_csv_put_count(&job->out, is_high ? figure->max_row : figure->min_row);
  } else {
    bw_csv_put_text(&job->out, "");
  }
  for (size_t i = job->columns.keys_from; i < job->columns.status; i++) {
    bw_csv_put_text(&job->out, is_there ? bw_sweep_table_cell(job->table, i) : "");
  }
}

/* whole draws of a figure into the indices */
static size_t add_draws(struct job *job, const struct bw_series *series, size_t index) {
  const size_t parts = key_count(job) + PARTS_BESIDE_KEYS;
  const size_t rows = bw_column_store_rows(series->store);
  size_t draws = 0;
  bw_sobol_start(job->sobol, series->figure[index].mean);
  for (size_t from = 0; from + parts <= rows; from += parts) {
    bool is_whole = bw_column_store_read(series->store, index, from, job->parts, parts) == parts;
    for (size_t i = 0; i < parts; i++) {
      is_whole = is_whole && isfinite(job->parts[i]);
    }
    if (is_whole) {
      bw_sobol_add(job->sobol, job->parts);
      draws++;
    }
  }
  return draws;
}

static void put_estimates(struct job *job, const struct bw_sobol_estimate *estimate,
                          bool is_there) {
  static const size_t offset[] = {offsetof(struct bw_sobol_estimate, value),
                                  offsetof(struct bw_sobol_estimate, low),
                                  offsetof(struct bw_sobol_estimate, high)};
  for (size_t i = 0; i < sizeof offset / sizeof offset[0]; i++) {
    for (size_t key = 0; key < key_count(job); key++) {
      const double *field = (const void *)((const char *)&estimate[key] + offset[i]);
      bw_csv_put_number(&job->out, is_there ? *field : (double)NAN);
    }
  }
}

static void put_indices(struct job *job, const struct bw_series *series, size_t index) {
  const size_t draws = add_draws(job, series, index);
  const bool is_there = bw_sobol_indices(job->sobol, job->first, job->total);
  bw_csv_put_count(&job->out, draws);
  put_estimates(job, job->first, is_there);
  put_estimates(job, job->total, is_there);
}

static enum bw_status put_figure(struct job *job, const struct bw_series *series, size_t index,
                                 uint64_t group_at) {
  const char *name = bw_sweep_table_name(job->table, job->columns.figures_from + index);
  const enum bw_summary_column column = bw_summary_find(name);
  const enum bw_worst worst =
      column < BW_SUMMARY_COUNT ? bw_summary_worst(column) : (enum bw_worst)BW_WORST_NONE;
  const struct bw_series_figure *figure = &series->figure[index];
  const uint64_t worst_at = worst == BW_WORST_HIGH ? figure->max_at : figure->min_at;
  const bool has_worst = worst != BW_WORST_NONE && figure->values > 0;
  BW_TRY(bw_sweep_table_go(job->table, has_worst ? worst_at : group_at, job->diag));
  for (size_t i = 0; i < job->columns.group_to; i++) {
    bw_csv_put_text(&job->out, bw_sweep_table_cell(job->table, i));
  }
  bw_csv_put_text(&job->out, series->strategy);
  bw_csv_put_text(&job->out, name);
  bw_csv_put_count(&job->out, series->runs);
  bw_csv_put_count(&job->out, series->failed);
  bw_csv_put_count(&job->out, series->missed);
  put_spread(job, series, index);
  put_worst(job, figure, worst);
  if (job->columns.has_parts) {
    put_indices(job, series, index);
  }
  bw_csv_end_row(&job->out);
  return BW_OK;
}

static enum bw_status put_group(struct job *job, uint64_t group_at) {
  for (size_t i = 0; i < job->series_count; i++) {
    struct bw_series *series = &job->series[i];
    for (size_t k = 0; k < job->figures && series->runs > 0; k++) {
      BW_TRY(put_figure(job, series, k, group_at));
    }
    BW_TRY(bw_column_store_check(series->store, job->diag));
    bw_series_clear(series);
  }
  return BW_OK;
}

/* ------------------------------------------------------------------ reading the rows */

static enum bw_status find_series(struct job *job, const char *strategy, struct bw_series **out) {
  for (size_t i = 0; i < job->series_count; i++) {
    if (strcmp(job->series[i].strategy, strategy) == 0) {
      *out = &job->series[i];
      return BW_OK;
    }
  }
  struct bw_series *larger = bw_realloc(job->series, job->series_count + 1, sizeof *job->series);
  if (larger == NULL) {
    return fail_memory(job);
  }
  job->series = larger;
  *out = &job->series[job->series_count];
  BW_TRY(bw_series_make(*out, strategy, job->figures, job->folder, job->diag));
  job->series_count++;
  return BW_OK;
}

/* bytes of the group's values with their ends */
static size_t group_size(const struct job *job) {
  size_t size = 0;
  for (size_t i = 0; i < job->columns.group_to; i++) {
    size += strlen(bw_sweep_table_cell(job->table, i)) + 1;
  }
  return size;
}

static bool is_same_group(const struct job *job) {
  const char *at = job->group;
  if (group_size(job) != job->group_size) {
    return false;
  }
  for (size_t i = 0; i < job->columns.group_to; i++) {
    const char *cell = bw_sweep_table_cell(job->table, i);
    if (strcmp(at, cell) != 0) {
      return false;
    }
    at += strlen(cell) + 1;
  }
  return true;
}

static enum bw_status keep_group(struct job *job) {
  job->group_size = group_size(job);
  bw_free(job->group);
  job->group = bw_alloc(job->group_size + 1, 1);
  if (job->group == NULL) {
    return fail_memory(job);
  }
  char *at = job->group;
  for (size_t i = 0; i < job->columns.group_to; i++) {
    const char *cell = bw_sweep_table_cell(job->table, i);
    const size_t size = strlen(cell) + 1;
    memcpy(at, cell, size);
    at += size;
  }
  return BW_OK;
}

static enum bw_status add_row(struct job *job, uint64_t at) {
  struct bw_series *series = NULL;
  const size_t strategy = job->columns.status + 2;
  BW_TRY(find_series(job, bw_sweep_table_cell(job->table, strategy), &series));
  return bw_series_add(series, job->table, ++job->number, at, job->diag);
}

/* the rows from the one at `*at` on that are of its group; gives the row behind them */
static enum bw_status add_group(struct job *job, bool *is_there, uint64_t *at) {
  BW_TRY(keep_group(job));
  do {
    BW_TRY(add_row(job, *at));
    BW_TRY(bw_sweep_table_next(job->table, is_there, at, job->diag));
  } while (*is_there && is_same_group(job));
  return BW_OK;
}

/* rows of one group lie together; the table comes back to the row behind each group */
static enum bw_status go_through(struct job *job) {
  bool is_there = false;
  uint64_t at = 0;
  BW_TRY(bw_sweep_table_next(job->table, &is_there, &at, job->diag));
  while (is_there) {
    const uint64_t group_at = at;
    BW_TRY(add_group(job, &is_there, &at));
    BW_TRY(put_group(job, group_at));
    if (is_there) {
      BW_TRY(bw_sweep_table_go(job->table, at, job->diag));
    }
  }
  return BW_OK;
}

static enum bw_status make_room(struct job *job) {
  const size_t keys = key_count(job);
  job->figures = job->columns.count - job->columns.figures_from;
  if (!job->columns.has_parts) {
    return BW_OK;
  }
  job->sobol = bw_sobol_create(keys);
  job->first = bw_alloc(keys, sizeof *job->first);
  job->total = bw_alloc(keys, sizeof *job->total);
  job->parts = bw_alloc(keys + PARTS_BESIDE_KEYS, sizeof *job->parts);
  const bool has_room =
      job->sobol != NULL && job->first != NULL && job->total != NULL && job->parts != NULL;
  return has_room ? BW_OK : fail_memory(job);
}

static enum bw_status fail_write(const struct job *job) {
  char text[BW_REASON_MAX];
  return bw_fail_at(
      job->diag, BW_E_IO, job->folder, 0,
      "cannot write sweep-statistics.csv (%s); mend that and do it again, a sweep with --resume",
      bw_reason(errno, text));
}

static enum bw_status write_file(struct job *job, const char *partial, const char *path) {
  FILE *file = fopen(partial, "wb");
  if (file == NULL) {
    return fail_write(job);
  }
  job->out = (struct bw_csv_row){.stream = file};
  put_header(job);
  const enum bw_status status = go_through(job);
  errno = 0;
  const bool is_written = fflush(file) == 0 && !job->out.has_failed && fsync(fileno(file)) == 0;
  const bool is_closed = fclose(file) == 0;
  if (status != BW_OK) {
    return status;
  }
  if (!is_written || !is_closed || rename(partial, path) != 0) {
    return fail_write(job);
  }
  return BW_OK;
}

static void free_job(struct job *job) {
  for (size_t i = 0; i < job->series_count; i++) {
    bw_series_free(&job->series[i]);
  }
  bw_sweep_table_close(job->table);
  bw_sobol_destroy(job->sobol);
  bw_free(job->series);
  bw_free(job->group);
  bw_free(job->first);
  bw_free(job->total);
  bw_free(job->parts);
}

enum bw_status bw_sweep_statistics_write(const char *rows_path, const char *folder,
                                         struct bw_diag *diag) {
  struct job job = {.folder = folder, .diag = diag};
  char partial[BW_FILE_PATH_MAX];
  char path[BW_FILE_PATH_MAX];
  if (!bw_path_join(partial, folder, "sweep-statistics.csv.partial") ||
      !bw_path_join(path, folder, "sweep-statistics.csv")) {
    return bw_fail(diag, BW_E_USAGE, "the folder's name is too long; name a shorter one");
  }
  enum bw_status status = bw_sweep_table_open(rows_path, &job.table, diag);
  if (status == BW_OK) {
    job.columns = bw_sweep_table_columns(job.table);
    status = make_room(&job);
  }
  if (status == BW_OK) {
    status = write_file(&job, partial, path);
    if (status != BW_OK) {
      (void)remove(partial);
    }
  }
  free_job(&job);
  return status;
}
