/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/csv_write.h"

#include <csv.h>
#include <math.h>
#include <string.h>

static void note(struct bw_csv_row *row, bool is_written) {
  row->has_failed = row->has_failed || !is_written;
}

static bool begin_cell(struct bw_csv_row *row) {
  if (row->has_failed) {
    return false;
  }
  if (row->is_started) {
    note(row, fputc(',', row->stream) != EOF);
  }
  row->is_started = true;
  return !row->has_failed;
}

/* quotes only where they change the reading: plotting programs take quoted numbers for text */
static bool needs_quotes(const char *text) {
  const size_t length = strlen(text);
  if (length == 0) {
    return false;
  }
  return strpbrk(text, ",\"\r\n") != NULL || text[0] == ' ' || text[length - 1] == ' ' ||
         text[0] == '\t' || text[length - 1] == '\t' || text[0] == '#';
}

void bw_csv_put_text(struct bw_csv_row *row, const char *text) {
  if (!begin_cell(row)) {
    return;
  }
  if (needs_quotes(text)) {
    note(row, csv_fwrite2(row->stream, text, strlen(text), '"') == 0);
  } else {
    note(row, fputs(text, row->stream) != EOF);
  }
}

void bw_csv_put_number(struct bw_csv_row *row, double value) {
  if (begin_cell(row) && isfinite(value)) {
    note(row, fprintf(row->stream, "%.17g", value + 0.0) > 0);
  }
}

void bw_csv_put_sample(struct bw_csv_row *row, double value) {
  if (begin_cell(row) && isfinite(value)) {
    note(row, fprintf(row->stream, "%.10g", value + 0.0) > 0);
  }
}

void bw_csv_put_count(struct bw_csv_row *row, size_t value) {
  if (begin_cell(row)) {
    note(row, fprintf(row->stream, "%zu", value) > 0);
  }
}

void bw_csv_end_row(struct bw_csv_row *row) {
  if (!row->has_failed) {
    note(row, fputc('\n', row->stream) != EOF);
  }
  row->is_started = false;
}
