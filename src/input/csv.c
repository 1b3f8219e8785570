/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/csv.h"

#include "alloc.h"
#include "input/csv_show.h"
#include "input/csv_text.h"
#include "input/number.h"

#include <csv.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { COLUMNS_MAX = 256, NAME_SIZE = 64 };

/** What travels through the callbacks of libcsv. */
struct reader {
  const char *path;
  struct bw_csv *out;
  struct bw_diag *diag;
  enum bw_status status; /**< of the whole file, BW_OK so far */
  size_t faults;
  int line;
  size_t cells; /**< of the row under way */
  size_t name_capacity;
  size_t row_capacity;
  size_t value_capacity;
  size_t text_capacity;
  size_t start_capacity;
  bool keeps_words; /**< cells are texts, not numbers */
  bool is_row_faulty;
};

/* ------------------------------------------------------------------ cells and rows */

/** Count the fault that `status` reports; the worst of the file is kept. */
static void note_fault(struct reader *reader, enum bw_status status) {
  if (reader->status == BW_OK || status != BW_E_INPUT) {
    reader->status = status;
  }
  reader->faults++;
  reader->is_row_faulty = true;
}

static bool is_over(const struct reader *reader) {
  return reader->faults >= BW_DIAG_LINES ||
         (reader->status != BW_OK && reader->status != BW_E_INPUT);
}

/** Make room for `needed` items; false (and the fault noted) when there is no memory. */
static bool grow(struct reader *reader, void **items, size_t size, size_t *capacity,
                 size_t needed) {
  if (needed <= *capacity) {
    return true;
  }
  const size_t wanted = needed < 64 ? 64 : needed + needed / 2;
  void *larger = bw_realloc(*items, wanted, size);
  if (larger == NULL) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_MEMORY, reader->path, reader->line,
                                  "no memory for %zu items", wanted));
    return false;
  }
  *items = larger;
  *capacity = wanted;
  return true;
}

static bool is_word_of(const char *cell, size_t length, const char *word) {
  return length == strlen(word) && strncasecmp(cell, word, length) == 0;
}

/** inf, nan and their kin, which some programs write for a missing value. */
static bool is_not_finite(const char *cell, size_t length) {
  if (length > 0 && (cell[0] == '-' || cell[0] == '+')) {
    cell++;
    length--;
  }
  return is_word_of(cell, length, "nan") || is_word_of(cell, length, "inf") ||
         is_word_of(cell, length, "infinity");
}

static void fail_cell(struct reader *reader, const char *cell, size_t length) {
  const char *name = reader->out->names[reader->cells];
  char shown[BW_CSV_SHOWN_MAX];
  bw_csv_show(cell, length, shown);
  const char *what = is_not_finite(cell, length) ? "is not finite" : "is not a number";
  enum bw_status status = BW_E_INPUT;
  if (length == 0) {
    status = bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                        "cell of column '%s' is empty; give a %s", name,
                        reader->keeps_words ? "value" : "number");
  } else {
    status = bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                        "'%s' in column '%s' %s; give a number such as 12.5", shown, name, what);
  }
  note_fault(reader, status);
}

static void take_word(struct reader *reader, const char *cell, size_t length) {
  struct bw_csv *out = reader->out;
  void *text = out->text;
  void *starts = out->starts;
  const size_t at = out->rows * out->columns + reader->cells;
  if (length == 0) {
    fail_cell(reader, cell, length);
    return;
  }
  if (grow(reader, &text, 1, &reader->text_capacity, out->text_size + length + 1)) {
    out->text = text;
  }
  if (grow(reader, &starts, sizeof *out->starts, &reader->start_capacity, at + 1)) {
    out->starts = starts;
  }
  if (!is_over(reader)) {
    out->starts[at] = out->text_size;
    memcpy(out->text + out->text_size, cell, length);
    out->text[out->text_size + length] = '\0';
    out->text_size += length + 1;
  }
}

static void take_value(struct reader *reader, const char *cell, size_t length) {
  struct bw_csv *out = reader->out;
  double value = 0.0;
  if (!bw_number_parse(cell, length, &value)) {
    fail_cell(reader, cell, length);
    return;
  }
  void *values = out->values;
  const size_t at = out->rows * out->columns + reader->cells;
  if (grow(reader, &values, sizeof *out->values, &reader->value_capacity, at + 1)) {
    out->values = values;
    out->values[at] = value;
  }
}

static void take_name(struct reader *reader, const char *cell, size_t length) {
  struct bw_csv *out = reader->out;
  if (length == 0 || length >= NAME_SIZE || reader->cells >= COLUMNS_MAX) {
    const char *what = length == 0 ? "has no name" : "has a name above 63 bytes";
    note_fault(reader,
               bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                          "column %zu %s; give each of at most %d columns a short name",
                          reader->cells + 1, reader->cells >= COLUMNS_MAX ? "is too many" : what,
                          (int)COLUMNS_MAX));
    return;
  }
  void *names = out->names;
  if (grow(reader, &names, sizeof *out->names, &reader->name_capacity, reader->cells + 1)) {
    out->names = names;
    memcpy(out->names[reader->cells], cell, length);
    out->names[reader->cells][length] = '\0';
  }
}

/** Callback of libcsv: one cell. */
static void take_cell(void *cell, size_t length, void *context) {
  struct reader *reader = context;
  if (reader->out->header_line == 0) {
    /* one bad name is enough: the columns after it would be misnamed */
    if (!reader->is_row_faulty) {
      take_name(reader, cell, length);
    }
  } else if (reader->cells < reader->out->columns && !reader->is_row_faulty) {
    if (reader->keeps_words) {
      take_word(reader, cell, length);
    } else {
      take_value(reader, cell, length);
    }
  }
  reader->cells++;
}

/** All names read; numbers in their place mean that the header is missing. */
static void finish_header(struct reader *reader) {
  struct bw_csv *out = reader->out;
  out->header_line = reader->line;
  out->columns = reader->cells;
  double ignored = 0.0;
  const char *first = out->names[0];
  if (bw_number_parse(first, strlen(first), &ignored)) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                                  "starts with numbers; put a header line with the column names "
                                  "(such as time_s,speed_kmh) above"));
  } else if (out->columns == 1 && strpbrk(first, ";\t") != NULL) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                                  "cells are not separated by commas; use ',' between cells and "
                                  "'.' as decimal point"));
  }
}

static void finish_row(struct reader *reader) {
  struct bw_csv *out = reader->out;
  if (reader->cells != out->columns) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                                  "row has %zu cell%s, the header has %zu; give one cell per "
                                  "column",
                                  reader->cells, reader->cells == 1 ? "" : "s", out->columns));
    return;
  }
  void *lines = out->lines;
  if (grow(reader, &lines, sizeof *out->lines, &reader->row_capacity, out->rows + 1)) {
    out->lines = lines;
    out->lines[out->rows++] = reader->line;
  }
}

/* ------------------------------------------------------------------ lines */

/** Memory of libcsv passes through ours too. */
static void *csv_memory(void *old, size_t size) {
  return bw_realloc(old, size, 1);
}

static void parser_start(struct csv_parser *parser) {
  (void)csv_init(parser, CSV_STRICT | CSV_STRICT_FINI);
  csv_set_realloc_func(parser, csv_memory);
  csv_set_free_func(parser, bw_free);
}

/** After a line libcsv refused: say why and start afresh. */
static void fail_parse(struct reader *reader, struct csv_parser *parser, bool is_quote_open) {
  if (csv_error(parser) == CSV_ENOMEM || csv_error(parser) == CSV_ETOOBIG) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_MEMORY, reader->path, reader->line,
                                  "no memory for this line"));
  } else if (is_quote_open) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                                  "a quote is left open; close it or leave it out"));
  } else {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                                  "a quote stands inside a cell; quote the whole cell or leave "
                                  "it out"));
  }
  csv_free(parser);
  parser_start(parser);
}

/** First comment of the file without '# ', cut between characters of UTF-8. */
static void take_comment(struct bw_csv *out, const char *text, size_t length) {
  while (length > 0 && (*text == '#' || *text == ' ' || *text == '\t')) {
    text++;
    length--;
  }
  if (out->comment[0] != '\0' || length == 0) {
    return;
  }
  if (length >= sizeof out->comment) {
    length = sizeof out->comment - 1;
    while (length > 0 && ((unsigned char)text[length] & 0xc0u) == 0x80u) {
      length--;
    }
  }
  memcpy(out->comment, text, length);
  out->comment[length] = '\0';
}

static bool is_blank_line(const char *text, size_t length) {
  for (size_t i = 0; i < length; i++) {
    if (text[i] != ' ' && text[i] != '\t') {
      return false;
    }
  }
  return true;
}

/** One line without its end: comment, blank, header or row. */
static void take_line(struct reader *reader, struct csv_parser *parser, const char *text,
                      size_t length) {
  if (length > 0 && text[0] == '#') {
    take_comment(reader->out, text, length);
    return;
  }
  if (is_blank_line(text, length)) {
    return;
  }
  reader->cells = 0;
  reader->is_row_faulty = false;
  if (csv_parse(parser, text, length, take_cell, NULL, reader) != length) {
    fail_parse(reader, parser, false);
  } else if (csv_fini(parser, take_cell, NULL, reader) != 0) {
    fail_parse(reader, parser, true);
  }
  const bool is_header = reader->out->header_line == 0;
  if (!reader->is_row_faulty && is_header) {
    finish_header(reader);
  } else if (!reader->is_row_faulty) {
    finish_row(reader);
  }
}

static void take_text(struct reader *reader, struct csv_parser *parser, const char *text,
                      size_t length) {
  const char *end = text + length;
  while (text < end && !is_over(reader)) {
    const char *feed = memchr(text, '\n', (size_t)(end - text));
    const char *line_end = feed != NULL ? feed : end;
    size_t line_length = (size_t)(line_end - text);
    if (line_length > 0 && text[line_length - 1] == '\r') {
      line_length--;
    }
    reader->line++;
    take_line(reader, parser, text, line_length);
    if (reader->out->header_line == 0 && reader->faults > 0) {
      return; /* without its header no row can be judged */
    }
    text = feed != NULL ? feed + 1 : end;
  }
}

/** What only the end of the file shows. */
static void check_complete(struct reader *reader) {
  if (reader->faults > 0) {
    return;
  }
  if (reader->out->header_line == 0) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->line,
                                  "holds no header line; give the column names and rows of "
                                  "numbers"));
  } else if (reader->out->rows == 0) {
    note_fault(reader, bw_fail_at(reader->diag, BW_E_INPUT, reader->path, reader->out->header_line,
                                  "header without rows; add rows of numbers below it"));
  }
}

static enum bw_status read_file(const char *path, bool keeps_words, struct bw_csv *out,
                                struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  if (strlen(path) >= sizeof out->path) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "path is too long; keep it below %zu bytes",
                      sizeof out->path);
  }
  struct bw_csv_text text = {0};
  BW_TRY(bw_csv_text_read(path, &text, diag));
  (void)snprintf(out->path, sizeof out->path, "%s", path);
  struct reader reader = {.path = path, .out = out, .diag = diag, .keeps_words = keeps_words};
  struct csv_parser parser;
  parser_start(&parser);
  take_text(&reader, &parser, text.start, text.length);
  csv_free(&parser);
  check_complete(&reader);
  bw_csv_text_free(&text);
  if (reader.status != BW_OK) {
    bw_csv_free(out);
  }
  return reader.status;
}

enum bw_status bw_csv_read(const char *path, struct bw_csv *out, struct bw_diag *diag) {
  return read_file(path, false, out, diag);
}

enum bw_status bw_csv_read_words(const char *path, struct bw_csv *out, struct bw_diag *diag) {
  return read_file(path, true, out, diag);
}

const char *bw_csv_word(const struct bw_csv *csv, size_t row, size_t column) {
  BW_ASSERT(csv->starts != NULL && row < csv->rows && column < csv->columns);
  return csv->text + csv->starts[row * csv->columns + column];
}

void bw_csv_free(struct bw_csv *csv) {
  bw_free(csv->names);
  bw_free(csv->values);
  bw_free(csv->lines);
  bw_free(csv->text);
  bw_free(csv->starts);
  memset(csv, 0, sizeof *csv);
}
