/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report_table.h"

#include "alloc.h"
#include "output/checked_line.h"

#include <csv.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

struct reading {
  struct bw_report_table *table;
  size_t keep;
  size_t in_row;
  size_t lines;
  size_t bad_line; /* 0: none */
  bool is_out_of_memory;
};

static void count_cell(struct bw_report_table *table, size_t column, const char *text,
                       size_t length) {
  for (size_t i = 0; i < BW_REPORT_TALLIES; i++) {
    struct bw_report_tally *tally = &table->tally[i];
    if (tally->column != NULL && column < table->columns &&
        strcmp(table->cell[column], tally->column) == 0 && strlen(tally->value) == length &&
        memcmp(tally->value, text, length) == 0) {
      tally->count++;
    }
  }
}

static void keep_cell(struct reading *reading, const char *text, size_t length) {
  struct bw_report_table *table = reading->table;
  if (table->cells == table->room && !reading->is_out_of_memory) {
    const size_t room = table->room == 0 ? 256 : 2 * table->room;
    char **grown = bw_realloc(table->cell, room, sizeof *grown);
    reading->is_out_of_memory = grown == NULL;
    if (grown != NULL) {
      table->cell = grown;
      table->room = room;
    }
  }
  char *copy = reading->is_out_of_memory ? NULL : bw_alloc(length + 1, 1);
  if (copy == NULL) {
    reading->is_out_of_memory = true;
    return;
  }
  memcpy(copy, text, length);
  copy[length] = '\0';
  table->cell[table->cells++] = copy;
}

static void take_cell(void *text, size_t length, void *user) {
  struct reading *reading = user;
  const char *from = length > 0 ? text : "";
  if (reading->lines > 0 && !reading->is_out_of_memory) {
    count_cell(reading->table, reading->in_row, from, length);
  }
  if (reading->lines <= reading->keep) {
    keep_cell(reading, from, length);
  }
  reading->in_row++;
}

static void take_row(int end, void *user) {
  (void)end;
  struct reading *reading = user;
  struct bw_report_table *table = reading->table;
  reading->lines++;
  if (reading->lines == 1) {
    table->columns = reading->in_row;
  } else {
    table->rows += reading->lines <= 1 + reading->keep ? 1 : 0;
    table->rows_seen++;
    if (reading->in_row != table->columns && reading->bad_line == 0) {
      reading->bad_line = reading->lines;
    }
  }
  reading->in_row = 0;
}

static void read_stream(FILE *stream, struct reading *reading) {
  static const unsigned char option = CSV_APPEND_NULL;
  struct csv_parser parser;
  char bytes[4096];
  if (csv_init(&parser, option) != 0) {
    reading->is_out_of_memory = true;
    return;
  }
  for (size_t count = fread(bytes, 1, sizeof bytes, stream); count > 0;
       count = fread(bytes, 1, sizeof bytes, stream)) {
    (void)csv_parse(&parser, bytes, count, take_cell, take_row, reading);
  }
  (void)csv_fini(&parser, take_cell, take_row, reading);
  csv_free(&parser);
}

enum bw_status bw_report_table_read(const char *path, size_t keep, struct bw_report_table *table,
                                    struct bw_diag *diag) {
  struct reading reading = {.table = table, .keep = keep};
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      errno == ENOENT ? "no such file; run the case again with this version"
                                      : "cannot be opened; check its permissions");
  }
  read_stream(stream, &reading);
  const bool is_sound = ferror(stream) == 0;
  (void)fclose(stream);
  if (reading.is_out_of_memory) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  if (!is_sound || reading.lines == 0) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "no table in it; run the case again");
  }
  if (reading.bad_line != 0) {
    return bw_fail_at(diag, BW_E_INPUT, path, (int)reading.bad_line,
                      "the row is not as long as the header; run the case again");
  }
  return BW_OK;
}

void bw_report_table_free(struct bw_report_table *table) {
  for (size_t i = 0; i < table->cells; i++) {
    bw_free(table->cell[i]);
  }
  bw_free(table->cell);
  *table = (struct bw_report_table){0};
}

size_t bw_report_table_column(const struct bw_report_table *table, const char *name) {
  size_t i = 0;
  while (i < table->columns && strcmp(table->cell[i], name) != 0) {
    i++;
  }
  return i;
}

const char *bw_report_table_text(const struct bw_report_table *table, size_t row, size_t column) {
  BW_ASSERT(row < table->rows && column < table->columns);
  return table->cell[(1 + row) * table->columns + column];
}

enum bw_status bw_report_fingerprint(const char *path, struct bw_report_print *print,
                                     struct bw_diag *diag) {
  char bytes[4096];
  *print = (struct bw_report_print){.hash = BW_CHECKSUM_START};
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "cannot be opened; check its permissions");
  }
  for (size_t count = fread(bytes, 1, sizeof bytes, stream); count > 0;
       count = fread(bytes, 1, sizeof bytes, stream)) {
    print->hash = bw_checksum(print->hash, bytes, count);
    for (size_t i = 0; i < count; i++) {
      print->lines += bytes[i] == '\n' ? 1 : 0;
    }
    print->bytes += count;
  }
  const bool is_sound = ferror(stream) == 0;
  (void)fclose(stream);
  return is_sound ? BW_OK : bw_fail_at(diag, BW_E_IO, path, 0, "cannot be read; check the disk");
}
