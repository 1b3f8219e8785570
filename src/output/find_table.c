/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/find_table.h"

#include "input/number.h"
#include "output/grid.h"
#include "output/sweep_table.h"

#include <math.h>
#include <string.h>

enum { NOTE_SIZE = 400 };

void bw_put_edge_names(struct bw_csv_row *row) {
  static const char *const names[] = {"strategy", "find", "along",  "result",    "first",
                                      "clear",    "runs", "failed", "crossings", "note"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    bw_csv_put_text(row, names[i]);
  }
  bw_csv_end_row(row);
}

static const char *end_text(enum bw_edge_end end) {
  switch (end) {
  case BW_EDGE_NONE:
    return "none";
  case BW_EDGE_AT_START:
    return "at-start";
  case BW_EDGE_FOUND:
    return "found";
  case BW_EDGE_UNKNOWN:
    break;
  }
  return "unknown";
}

/* what keeps `first` from being the whole answer */
static void make_note(const struct bw_edge_row *values, char note[NOTE_SIZE]) {
  const struct bw_edge *edge = &values->edge;
  size_t used = 0;
  note[0] = '\0';
  if (edge->crossings > 1) {
    used += (size_t)snprintf(note, NOTE_SIZE, "not monotone: the scan changes sides %zu times",
                             edge->crossings);
  } else if (edge->end == BW_EDGE_AT_START) {
    used += (size_t)snprintf(note, NOTE_SIZE, "holds from the start; begin the scan earlier");
  }
  if (edge->end == BW_EDGE_FOUND && !edge->is_narrow) {
    used +=
        (size_t)snprintf(note + used, NOTE_SIZE - used, "%swider than %g: runs before it failed",
                         used > 0 ? "; " : "", values->within);
  }
  if (edge->unknown > 0) {
    (void)snprintf(note + used, NOTE_SIZE - used, "%s%zu %s%s%.250s", used > 0 ? "; " : "",
                   edge->unknown, edge->unknown == 1 ? "run says nothing" : "runs say nothing",
                   values->failure[0] != '\0' ? ": " : "", values->failure);
  }
}

void bw_put_edge_values(struct bw_csv_row *row, const struct bw_edge_row *values) {
  const struct bw_edge *edge = &values->edge;
  char note[NOTE_SIZE];
  make_note(values, note);
  bw_csv_put_text(row, values->strategy);
  bw_csv_put_text(row, values->find);
  bw_csv_put_text(row, values->along);
  bw_csv_put_text(row, end_text(edge->end));
  bw_csv_put_number(row, edge->first);
  bw_csv_put_number(row, edge->clear);
  bw_csv_put_count(row, edge->probes);
  bw_csv_put_count(row, edge->unknown);
  bw_csv_put_count(row, edge->crossings);
  bw_csv_put_text(row, note);
  bw_csv_end_row(row);
}

/* numbers of find.csv have 17 digits; people want few */
static void put_cell(struct bw_grid *grid, const char *name, const char *cell) {
  double number = 0.0;
  const bool is_value = strcmp(name, "first") == 0 || strcmp(name, "clear") == 0;
  if (is_value && cell[0] != '\0' && bw_number_parse(cell, strlen(cell), &number)) {
    bw_grid_putf(grid, "%.6g", number);
  } else {
    bw_grid_put(grid, is_value && cell[0] == '\0' ? "-" : cell);
  }
}

static enum bw_status fill(struct bw_grid *grid, struct bw_sweep_table *table, size_t *rows,
                           struct bw_diag *diag) {
  const size_t columns = bw_sweep_table_columns(table).count;
  uint64_t at = 0;
  for (size_t i = 0; i < columns; i++) {
    bw_grid_put(grid, bw_sweep_table_name(table, i));
  }
  for (bool is_there = true; is_there;) {
    BW_TRY(bw_sweep_table_next(table, &is_there, &at, diag));
    *rows += is_there ? 1 : 0;
    for (size_t i = 0; i < columns && is_there && *rows <= BW_EDGE_ROWS_SHOWN; i++) {
      put_cell(grid, bw_sweep_table_name(table, i), bw_sweep_table_cell(table, i));
    }
  }
  return BW_OK;
}

enum bw_status bw_edge_print(const char *path, FILE *stream, struct bw_diag *diag) {
  struct bw_sweep_table *table = NULL;
  size_t rows = 0;
  BW_TRY(bw_sweep_table_open_any(path, &table, diag));
  const size_t columns = bw_sweep_table_columns(table).count;
  struct bw_grid *grid = bw_grid_create(columns);
  enum bw_status status = BW_E_MEMORY;
  if (grid != NULL) {
    bw_grid_align_left(grid, columns - 1);
    status = fill(grid, table, &rows, diag);
  }
  if (status == BW_OK) {
    status = bw_grid_print(grid, BW_GRID_TEXT, 1, 0, stream);
  }
  if (status == BW_OK && rows > BW_EDGE_ROWS_SHOWN) {
    (void)fprintf(stream, "%zu more in %s\n", rows - BW_EDGE_ROWS_SHOWN, path);
  }
  bw_grid_destroy(grid);
  bw_sweep_table_close(table);
  return status;
}
