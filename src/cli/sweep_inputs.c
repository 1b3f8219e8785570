/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_job.h"

#include <stdlib.h>
#include <string.h>

static uint64_t sum_text(uint64_t sum, const char *text) {
  return bw_checksum(sum, text, strlen(text) + 1);
}

static uint64_t sum_numbers(uint64_t sum, const double *numbers, size_t count) {
  return count > 0 ? bw_checksum(sum, numbers, count * sizeof *numbers) : sum;
}

/* a case with its tables and the numbers of its trace */
static enum bw_status sum_case(const struct bw_case *loaded, uint64_t *sum) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  if (stream == NULL) {
    return BW_E_MEMORY;
  }
  const bool is_written = bw_param_write_resolved(loaded, stream);
  const bool is_closed = fclose(stream) == 0;
  if (is_written && is_closed) {
    *sum = bw_checksum(*sum, text, size);
  }
  free(text); /* NOLINT: of open_memstream */
  const struct bw_trace *trace = &loaded->trace;
  *sum = sum_numbers(*sum, trace->time, trace->n);
  *sum = sum_numbers(*sum, trace->value, trace->n);
  *sum = sum_numbers(*sum, trace->grade_distance, trace->grade_n);
  *sum = sum_numbers(*sum, trace->grade_sin, trace->grade_n);
  return is_written && is_closed ? BW_OK : BW_E_MEMORY;
}

static enum bw_status sum_file(const char *path, uint64_t *sum, struct bw_diag *diag) {
  unsigned char block[4096];
  FILE *file = fopen(path, "rb");
  if (file == NULL) {
    return bw_fail_at(diag, BW_E_IO, path, 0, "cannot be read; check the path");
  }
  size_t got = 0;
  while ((got = fread(block, 1, sizeof block, file)) > 0) {
    *sum = bw_checksum(*sum, block, got);
  }
  const bool is_sound = ferror(file) == 0;
  (void)fclose(file);
  return is_sound ? BW_OK : bw_fail_at(diag, BW_E_IO, path, 0, "cannot be read; check the disk");
}

/* the case with one swept word: what the file it may name holds counts, not its name alone */
static enum bw_status sum_word(const struct bw_sweep_job *job, const char *key, const char *word,
                               size_t length, uint64_t *sum) {
  char text[2 * BW_SWEEP_VALUE_MAX];
  (void)snprintf(text, sizeof text, "%s=%.*s", key, (int)length, word);
  const struct bw_override override = {.text = text};
  struct bw_case *loaded = NULL;
  struct bw_diag own = {0};
  enum bw_status status = bw_case_derive(job->base, &override, 1, &loaded, &own);
  if (loaded != NULL) {
    status = sum_case(loaded, sum);
  } else if (status != BW_E_MEMORY) {
    *sum = sum_text(*sum, own.count > 0 ? own.line[0] : "");
    status = BW_OK;
  }
  bw_case_destroy(loaded);
  return status;
}

static bool may_name_file(const struct bw_case *loaded, const char *key) {
  const struct bw_param *param = bw_param_find(bw_case_params(loaded), key);
  return param->kind == BW_PARAM_TEXT || param->kind == BW_PARAM_TABLE;
}

static enum bw_status sum_axis(const struct bw_sweep_job *job, const struct bw_case *loaded,
                               const struct bw_sweep_axis *axis, uint64_t *sum) {
  const bool is_word = may_name_file(loaded, axis->key);
  *sum = sum_text(*sum, axis->key);
  for (size_t i = 0; i < axis->span_count; i++) {
    const struct bw_sweep_span *span = &axis->span[i];
    if (span->text == NULL) {
      const double numbers[] = {span->from, span->step, span->is_factor ? 1.0 : 0.0,
                                (double)span->count};
      *sum = sum_numbers(*sum, numbers, 4);
      continue;
    }
    *sum = bw_checksum(*sum, span->text, span->length);
    *sum = sum_text(*sum, "");
    if (is_word) {
      BW_TRY(sum_word(job, axis->key, span->text, span->length, sum));
    }
  }
  return BW_OK;
}

static int compare_words(const void *a, const void *b) {
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* each word of a column of the points file once */
static enum bw_status sum_column(const struct bw_sweep_job *job,
                                 const struct bw_sweep_point_key *key, uint64_t *sum) {
  const size_t rows = job->points.rows;
  const char **words = bw_alloc(rows, sizeof *words);
  enum bw_status status = words != NULL ? BW_OK : BW_E_MEMORY;
  for (size_t i = 0; i < rows && words != NULL; i++) {
    words[i] = bw_csv_word(&job->points, i, key->column);
  }
  if (words != NULL) {
    qsort(words, rows, sizeof *words, compare_words);
  }
  for (size_t i = 0; i < rows && status == BW_OK; i++) {
    if (i == 0 || strcmp(words[i], words[i - 1]) != 0) {
      status = sum_word(job, key->key, words[i], strlen(words[i]), sum);
    }
  }
  bw_free(words);
  return status;
}

static enum bw_status sum_points(const struct bw_sweep_job *job, const struct bw_case *loaded,
                                 uint64_t *sum) {
  const struct bw_csv *points = &job->points;
  for (size_t i = 0; i < points->columns; i++) {
    *sum = sum_text(*sum, points->names[i]);
  }
  *sum = points->text_size > 0 ? bw_checksum(*sum, points->text, points->text_size) : *sum;
  for (size_t i = 0; i < job->plan.point_key_count; i++) {
    if (may_name_file(loaded, job->plan.point_key[i].key)) {
      BW_TRY(sum_column(job, &job->plan.point_key[i], sum));
    }
  }
  return BW_OK;
}

enum bw_status bw_sweep_job_inputs(const struct bw_sweep_job *job, const struct bw_case *loaded,
                                   uint64_t *sum, struct bw_diag *diag) {
  *sum = sum_text(BW_CHECKSUM_START, BW_VERSION);
  *sum = sum_text(*sum, job->case_path);
  BW_TRY(sum_case(loaded, sum));
  for (size_t i = 0; i < job->strategy_count; i++) {
    const struct bw_plugin *plugin = bw_controllers_find(job->controllers, job->strategies[i]);
    *sum = sum_text(*sum, job->strategies[i]->name);
    if (plugin != NULL) {
      BW_TRY(sum_file(bw_plugin_path(plugin), sum, diag));
    }
  }
  BW_TRY(sum_points(job, loaded, sum));
  if (job->plan.draws != NULL) {
    const struct bw_draws_setup setup = bw_draws_setup_of(job->plan.draws);
    const double numbers[] = {(double)setup.count, (double)setup.sampling, (double)setup.seed,
                              setup.is_sensitivity ? 1.0 : 0.0};
    *sum = sum_numbers(*sum, numbers, sizeof numbers / sizeof numbers[0]);
  }
  for (size_t i = 0; i < job->plan.axis_count; i++) {
    BW_TRY(sum_axis(job, loaded, &job->plan.axis[i], sum));
  }
  return BW_OK;
}
