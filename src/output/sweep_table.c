/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/sweep_table.h"

#include "alloc.h"
#include "output/path.h"

#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS_MAX = 512 };

/* cells of one row, one text behind the other */
struct cells {
  size_t count;
  size_t start[COLUMNS_MAX];
  char *text; /* owned */
  size_t size;
  size_t room;
  bool is_whole; /* the row has ended */
  bool has_failed;
};

struct bw_sweep_table {
  char path[BW_FILE_PATH_MAX];
  FILE *file;
  struct csv_parser parser;
  bool has_parser;
  char *line; /* of getline */
  size_t line_room;
  struct cells names;
  struct cells row;
  struct cells *filling;
  struct bw_sweep_columns columns;
};

static void take_cell(void *bytes, size_t length, void *context) {
  struct cells *cells = ((struct bw_sweep_table *)context)->filling;
  if (cells->count == COLUMNS_MAX) {
    cells->has_failed = true;
    return;
  }
  if (cells->size + length + 1 > cells->room) {
    const size_t wanted = 2 * (cells->size + length + 1);
    char *larger = bw_realloc(cells->text, wanted, 1);
    if (larger == NULL) {
      cells->has_failed = true;
      return;
    }
    cells->text = larger;
    cells->room = wanted;
  }
  cells->start[cells->count++] = cells->size;
  memcpy(cells->text + cells->size, bytes, length);
  cells->text[cells->size + length] = '\0';
  cells->size += length + 1;
}

static void take_end(int last, void *context) {
  (void)last;
  ((struct bw_sweep_table *)context)->filling->is_whole = true;
}

/* a row may have ends of lines inside its quotes */
static enum bw_status read_row(struct bw_sweep_table *table, struct cells *cells, bool *is_there,
                               struct bw_diag *diag) {
  cells->count = 0;
  cells->size = 0;
  cells->is_whole = false;
  table->filling = cells;
  while (!cells->is_whole) {
    const ssize_t length = getline(&table->line, &table->line_room, table->file);
    if (length < 0) {
      *is_there = false;
      return ferror(table->file) == 0 && cells->count == 0
                 ? BW_OK
                 : bw_fail_at(diag, BW_E_IO, table->path, 0, "cannot be read; check the disk");
    }
    const size_t size = (size_t)length;
    if (csv_parse(&table->parser, table->line, size, take_cell, take_end, table) != size ||
        cells->has_failed) {
      return bw_fail_at(diag, BW_E_INPUT, table->path, 0,
                        "holds a row that is no CSV or too long; make the sweep anew");
    }
  }
  *is_there = true;
  return BW_OK;
}

static const char *cell_of(const struct cells *cells, size_t column) {
  return column < cells->count ? cells->text + cells->start[column] : "";
}

static size_t find(const struct bw_sweep_table *table, const char *name) {
  size_t i = 0;
  while (i < table->names.count && strcmp(cell_of(&table->names, i), name) != 0) {
    i++;
  }
  return i;
}

static enum bw_status find_roles(struct bw_sweep_table *table, struct bw_diag *diag) {
  /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): opened, or the caller has returned */
  const size_t count = table->names.count;
  const size_t sample = find(table, "sample");
  const size_t status = find(table, "status");
  const size_t rule = find(table, "balance_rule");
  if (status >= count || rule >= count || rule != status + 5) {
    return bw_fail_at(diag, BW_E_INPUT, table->path, 1,
                      "is no table of a sweep; name the sweep.csv of one");
  }
  const bool has_draws = sample < status;
  const bool has_parts = has_draws && find(table, "part") == sample + 1;
  const size_t marks = has_parts ? 2 : 1;
  table->columns = (struct bw_sweep_columns){.count = count,
                                             .group_to = has_draws ? sample : 0,
                                             .has_parts = has_parts,
                                             .keys_from = has_draws ? sample + marks : 0,
                                             .status = status,
                                             .figures_from = rule + 1};
  return BW_OK;
}

static enum bw_status start(struct bw_sweep_table *table, const char *path, struct bw_diag *diag) {
  (void)snprintf(table->path, sizeof table->path, "%s", path);
  table->file = fopen(path, "rb");
  if (table->file == NULL) {
    return bw_fail_at(diag, BW_E_IO, path, 0, "cannot be read; check the path");
  }
  if (csv_init(&table->parser, 0) != 0) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for %s", path);
  }
  table->has_parser = true;
  bool is_there = false;
  BW_TRY(read_row(table, &table->names, &is_there, diag));
  table->columns.count = table->names.count;
  return BW_OK;
}

enum bw_status bw_sweep_table_open_any(const char *path, struct bw_sweep_table **out,
                                       struct bw_diag *diag) {
  *out = NULL;
  struct bw_sweep_table *table = bw_alloc(1, sizeof *table);
  if (table == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for %s", path);
  }
  const enum bw_status status = start(table, path, diag);
  if (status != BW_OK) {
    bw_sweep_table_close(table);
    return status;
  }
  *out = table;
  return BW_OK;
}

enum bw_status bw_sweep_table_open(const char *path, struct bw_sweep_table **out,
                                   struct bw_diag *diag) {
  BW_TRY(bw_sweep_table_open_any(path, out, diag));
  const enum bw_status status = find_roles(*out, diag);
  if (status != BW_OK) {
    bw_sweep_table_close(*out);
    *out = NULL;
  }
  return status;
}

void bw_sweep_table_close(struct bw_sweep_table *table) {
  if (table == NULL) {
    return;
  }
  if (table->file != NULL) {
    (void)fclose(table->file);
  }
  if (table->has_parser) {
    csv_free(&table->parser);
  }
  free(table->line); /* NOLINT: of getline */
  bw_free(table->names.text);
  bw_free(table->row.text);
  bw_free(table);
}

struct bw_sweep_columns bw_sweep_table_columns(const struct bw_sweep_table *table) {
  return table->columns;
}

const char *bw_sweep_table_name(const struct bw_sweep_table *table, size_t column) {
  return cell_of(&table->names, column);
}

enum bw_status bw_sweep_table_next(struct bw_sweep_table *table, bool *is_there, uint64_t *at,
                                   struct bw_diag *diag) {
  const long place = ftell(table->file);
  if (place < 0) {
    return bw_fail_at(diag, BW_E_IO, table->path, 0, "cannot be read; check the disk");
  }
  *at = (uint64_t)place;
  BW_TRY(read_row(table, &table->row, is_there, diag));
  if (*is_there && table->row.count != table->columns.count) {
    return bw_fail_at(diag, BW_E_INPUT, table->path, 0,
                      "has a row of %zu cells under a header of %zu; make the sweep anew",
                      table->row.count, table->columns.count);
  }
  return BW_OK;
}

enum bw_status bw_sweep_table_go(struct bw_sweep_table *table, uint64_t at, struct bw_diag *diag) {
  bool is_there = false;
  uint64_t place = 0;
  if (fseek(table->file, (long)at, SEEK_SET) != 0) {
    return bw_fail_at(diag, BW_E_IO, table->path, 0, "cannot be read; check the disk");
  }
  BW_TRY(bw_sweep_table_next(table, &is_there, &place, diag));
  return is_there ? BW_OK
                  : bw_fail_at(diag, BW_E_IO, table->path, 0, "became shorter; make it anew");
}

const char *bw_sweep_table_cell(const struct bw_sweep_table *table, size_t column) {
  return cell_of(&table->row, column);
}
