/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/grid.h"

#include "alloc.h"
#include "output/csv_write.h"
#include "output/utf8.h"
#include "output/wrap.h"

#include <stdarg.h>
#include <string.h>

enum { GRID_COLUMNS_MAX = 16, GRID_CELL_MAX = 128, COLUMN_GAP = 2 };

struct bw_grid {
  size_t columns;
  bool is_left[GRID_COLUMNS_MAX];
  size_t widest[GRID_COLUMNS_MAX]; /* 0: as its cells need */
  size_t count;                    /* cells put */
  size_t capacity;                 /* cells that fit */
  char **cells;                    /* (count) owned */
  bool has_failed;                 /* a cell was lost */
};

struct bw_grid *bw_grid_create(size_t columns) {
  BW_ASSERT(columns > 0 && columns <= GRID_COLUMNS_MAX);
  struct bw_grid *grid = bw_alloc(1, sizeof *grid);
  if (grid != NULL) {
    grid->columns = columns;
    grid->is_left[0] = true;
  }
  return grid;
}

void bw_grid_destroy(struct bw_grid *grid) {
  if (grid == NULL) {
    return;
  }
  for (size_t i = 0; i < grid->count; i++) {
    bw_free(grid->cells[i]);
  }
  bw_free(grid->cells);
  bw_free(grid);
}

void bw_grid_align_left(struct bw_grid *grid, size_t column) {
  BW_ASSERT(column < grid->columns);
  grid->is_left[column] = true;
}

void bw_grid_limit(struct bw_grid *grid, size_t column, size_t width) {
  BW_ASSERT(column < grid->columns);
  grid->widest[column] = width;
}

static bool make_room(struct bw_grid *grid) {
  if (grid->count < grid->capacity) {
    return true;
  }
  const size_t capacity = grid->capacity == 0 ? 64 : grid->capacity * 2;
  char **cells = bw_realloc(grid->cells, capacity, sizeof *cells);
  if (cells == NULL) {
    return false;
  }
  grid->cells = cells;
  grid->capacity = capacity;
  return true;
}

void bw_grid_put(struct bw_grid *grid, const char *text) {
  const size_t size = strlen(text) + 1;
  char *copy = grid->has_failed || !make_room(grid) ? NULL : bw_alloc(size, 1);
  if (copy == NULL) {
    grid->has_failed = true;
    return;
  }
  memcpy(copy, text, size);
  grid->cells[grid->count++] = copy;
}

void bw_grid_putf(struct bw_grid *grid, const char *format, ...) {
  char text[GRID_CELL_MAX];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  bw_grid_put(grid, text);
}

static void put_blanks(size_t count, FILE *stream) {
  for (size_t i = 0; i < count; i++) {
    (void)fputc(' ', stream);
  }
}

static void print_text_row(const struct bw_grid *grid, size_t row, const size_t *widths,
                           FILE *stream) {
  size_t pending = 0; /* blanks owed, so that no line ends in blanks */
  for (size_t column = 0; column < grid->columns; column++) {
    const char *cell = grid->cells[row * grid->columns + column];
    const size_t width = bw_utf8_width(cell);
    const size_t pad = width < widths[column] ? widths[column] - width : 0;
    size_t length = strlen(cell); /* without blanks at the end, which only keep figures in line */
    const size_t whole = length;
    while (length > 0 && cell[length - 1] == ' ') {
      length--;
    }
    if (length > 0) {
      put_blanks(pending + (grid->is_left[column] ? 0 : pad), stream);
      bw_clean_print_part(cell, length, stream);
      pending = whole - length + (grid->is_left[column] ? pad : 0);
    } else {
      pending += widths[column];
    }
    pending += COLUMN_GAP;
  }
  (void)fputc('\n', stream);
}

static void print_rule(const struct bw_grid *grid, const size_t *widths, FILE *stream) {
  size_t total = 0;
  for (size_t column = 0; column < grid->columns; column++) {
    total += widths[column] + (column == 0 ? 0 : COLUMN_GAP);
  }
  for (size_t i = 0; i < total; i++) {
    (void)fputc('-', stream);
  }
  (void)fputc('\n', stream);
}

static void print_text(const struct bw_grid *grid, size_t header_rows, size_t indent,
                       FILE *stream) {
  size_t widths[GRID_COLUMNS_MAX] = {0};
  const size_t rows = grid->count / grid->columns;
  for (size_t i = 0; i < rows * grid->columns; i++) {
    const size_t width = bw_utf8_width(grid->cells[i]);
    const size_t widest = grid->widest[i % grid->columns];
    if (width > widths[i % grid->columns] && (widest == 0 || width <= widest)) {
      widths[i % grid->columns] = width;
    }
  }
  for (size_t row = 0; row < rows; row++) {
    put_blanks(indent, stream);
    print_text_row(grid, row, widths, stream);
    if (row + 1 == header_rows) {
      put_blanks(indent, stream);
      print_rule(grid, widths, stream);
    }
  }
}

static void print_csv(const struct bw_grid *grid, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  for (size_t i = 0; i < grid->count; i++) {
    bw_csv_put_text(&row, grid->cells[i]);
    if (i % grid->columns == grid->columns - 1) {
      bw_csv_end_row(&row);
    }
  }
}

static void print_markdown(const struct bw_grid *grid, size_t header_rows, FILE *stream) {
  for (size_t i = 0; i < grid->count; i++) {
    (void)fputs("| ", stream);
    for (const char *c = grid->cells[i]; *c != '\0'; c++) {
      (void)fputs(*c == '|' ? "\\" : "", stream);
      (void)fputc(*c, stream);
    }
    (void)fputc(' ', stream);
    if (i % grid->columns < grid->columns - 1) {
      continue;
    }
    (void)fputs("|\n", stream);
    if (i / grid->columns + 1 == header_rows) {
      for (size_t column = 0; column < grid->columns; column++) {
        (void)fputs(grid->is_left[column] ? "| --- " : "| ---: ", stream);
      }
      (void)fputs("|\n", stream);
    }
  }
}

enum bw_status bw_grid_print(const struct bw_grid *grid, enum bw_grid_format format,
                             size_t header_rows, size_t indent, FILE *stream) {
  if (grid->has_failed) {
    return BW_E_MEMORY;
  }
  switch (format) {
  case BW_GRID_TEXT:
    print_text(grid, header_rows, indent, stream);
    break;
  case BW_GRID_CSV:
    print_csv(grid, stream);
    break;
  case BW_GRID_MARKDOWN:
    print_markdown(grid, header_rows, stream);
    break;
  }
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}
