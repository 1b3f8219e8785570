/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/trace_thin.h"

#include "alloc.h"
#include "output/csv_scan.h"
#include "output/csv_write.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum { KEPT_MAX = 64, FILE_COLUMNS_MAX = 1024, NOT_KEPT = -1 };

struct thin {
  const struct bw_trace_thinning *thinning;
  struct bw_csv_row csv;
  size_t kept;                 /* columns that are kept */
  size_t found;                /* of them seen in the header */
  int place[FILE_COLUMNS_MAX]; /* of a column of the file among the kept ones */
  size_t stretch;              /* rows of a stretch */
  size_t count;                /* rows of this one so far, with the one being read */
  size_t row;                  /* row being read, 0: the header */
  double (*value)[KEPT_MAX];   /* (stretch) owned */
  bool *is_drawn;              /* (stretch) owned */
};

/* position of `word` in the list, or NOT_KEPT */
static int place_of(const char *list, const char *word) {
  const size_t length = strlen(word);
  int place = 0;
  for (const char *at = list; at[0] != '\0'; place++) {
    const size_t name = strcspn(at, ",");
    if (name == length && strncmp(at, word, length) == 0) {
      return place;
    }
    at += name + (at[name] == ',' ? 1 : 0);
  }
  return NOT_KEPT;
}

static void mark_extremes(struct thin *thin, size_t column) {
  size_t least = 0;
  size_t greatest = 0;
  for (size_t i = 1; i < thin->count; i++) {
    /* the first row may hold no number, which compares as false */
    least = !(thin->value[i][column] >= thin->value[least][column]) ? i : least;
    greatest = !(thin->value[i][column] <= thin->value[greatest][column]) ? i : greatest;
  }
  thin->is_drawn[least] = true;
  thin->is_drawn[greatest] = true;
}

static void end_stretch(struct thin *thin) {
  if (thin->count == 0) {
    return;
  }
  memset(thin->is_drawn, 0, thin->count * sizeof *thin->is_drawn);
  thin->is_drawn[0] = true;
  thin->is_drawn[thin->count - 1] = true;
  for (size_t c = 1; c < thin->kept; c++) {
    mark_extremes(thin, c);
  }
  for (size_t i = 0; i < thin->count; i++) {
    for (size_t c = 0; c < thin->kept && thin->is_drawn[i]; c++) {
      bw_csv_put_sample(&thin->csv, thin->value[i][c]);
    }
    if (thin->is_drawn[i]) {
      bw_csv_end_row(&thin->csv);
    }
  }
  thin->count = 0;
}

/* which piece of the zoomed window a moment is in, 0: none */
static size_t window_piece(const struct bw_trace_thinning *thinning, double time) {
  const double length = (thinning->to - thinning->from) / (double)thinning->window_pieces;
  if (!(time >= thinning->from && time <= thinning->to && length > 0.0)) {
    return 0;
  }
  return 1 + (size_t)((time - thinning->from) / length);
}

/* with the first row of the next piece a stretch ends, so rows wider apart than pieces all stay */
static bool is_stretch_full(const struct thin *thin) {
  if (thin->count < 2) {
    return thin->count == thin->stretch;
  }
  return thin->count == thin->stretch ||
         window_piece(thin->thinning, thin->value[0][0]) !=
             window_piece(thin->thinning, thin->value[thin->count - 1][0]);
}

static void start_row(struct thin *thin, size_t row) {
  thin->row = row;
  if (is_stretch_full(thin)) {
    end_stretch(thin);
  }
  for (size_t c = 0; c < thin->kept; c++) {
    thin->value[thin->count][c] = (double)NAN;
  }
  thin->count++;
}

static bool take_cell(void *context, size_t row, size_t column, const char *text) {
  struct thin *thin = context;
  if (column >= FILE_COLUMNS_MAX) {
    return true;
  }
  if (row == 0) {
    thin->place[column] = place_of(thin->thinning->columns, text);
    thin->found += thin->place[column] != NOT_KEPT ? 1 : 0;
    return true;
  }
  if (row != thin->row) {
    start_row(thin, row);
  }
  if (thin->place[column] != NOT_KEPT && text[0] != '\0') {
    thin->value[thin->count - 1][thin->place[column]] = strtod(text, NULL);
  }
  return thin->found == thin->kept && !thin->csv.has_failed;
}

static enum bw_status count_rows(const char *path, size_t *rows, struct bw_diag *diag) {
  char bytes[65536];
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "cannot be opened; check its permissions");
  }
  *rows = 0;
  for (size_t count = fread(bytes, 1, sizeof bytes, stream); count > 0;
       count = fread(bytes, 1, sizeof bytes, stream)) {
    for (const char *at = memchr(bytes, '\n', count); at != NULL;
         at = memchr(at + 1, '\n', count - (size_t)(at + 1 - bytes))) {
      (*rows)++;
    }
  }
  const bool is_sound = ferror(stream) == 0;
  (void)fclose(stream);
  return is_sound ? BW_OK : bw_fail_at(diag, BW_E_IO, path, 0, "cannot be read; check the disk");
}

static void put_header(struct thin *thin) {
  char name[128];
  for (const char *at = thin->thinning->columns; at[0] != '\0'; thin->kept++) {
    const size_t length = strcspn(at, ",");
    (void)snprintf(name, sizeof name, "%.*s", (int)length, at);
    bw_csv_put_text(&thin->csv, name);
    at += length + (at[length] == ',' ? 1 : 0);
  }
  bw_csv_end_row(&thin->csv);
}

static enum bw_status thin_rows(const char *path, struct thin *thin, struct bw_diag *diag) {
  put_header(thin);
  BW_ASSERT(thin->kept <= KEPT_MAX);
  BW_TRY(bw_csv_scan(path, take_cell, thin, diag));
  end_stretch(thin);
  if (thin->found != thin->kept) {
    return bw_fail_at(diag, BW_E_INPUT, path, 1,
                      "a column is missing; run the case again with this version");
  }
  if (thin->csv.has_failed) {
    return bw_fail_at(diag, BW_E_IO, path, 0, "its copy for drawing cannot be written; make room");
  }
  return BW_OK;
}

enum bw_status bw_trace_thin(const char *path, const struct bw_trace_thinning *thinning,
                             FILE *stream, struct bw_diag *diag) {
  size_t rows = 0;
  BW_TRY(count_rows(path, &rows, diag));
  struct thin *thin = bw_alloc(1, sizeof *thin);
  if (thin == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a trace");
  }
  thin->thinning = thinning;
  thin->csv.stream = stream;
  thin->stretch = 1 + rows / thinning->pieces;
  thin->value = bw_alloc(thin->stretch, sizeof *thin->value);
  thin->is_drawn = bw_alloc(thin->stretch, sizeof *thin->is_drawn);
  enum bw_status status = BW_OK;
  if (thin->value == NULL || thin->is_drawn == NULL) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for a trace");
  }
  if (status == BW_OK) {
    status = thin_rows(path, thin, diag);
  }
  bw_free(thin->value);
  bw_free(thin->is_drawn);
  bw_free(thin);
  return status;
}
