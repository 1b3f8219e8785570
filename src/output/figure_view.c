/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/figure_view.h"

#include "alloc.h"
#include "output/csv_scan.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static char *copy_of(const char *text) {
  const size_t size = strlen(text) + 1;
  char *copy = bw_alloc(size, 1);
  if (copy != NULL) {
    memcpy(copy, text, size);
  }
  return copy;
}

enum bw_status bw_figure_path(const char *folder, const char *name, char path[BW_FIGURE_PATH_MAX],
                              struct bw_diag *diag) {
  const int length = snprintf(path, BW_FIGURE_PATH_MAX, "%s/%s", folder, name);
  if (length < 0 || length >= BW_FIGURE_PATH_MAX) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0, "path is too long; choose a shorter one");
  }
  return BW_OK;
}

static size_t column_of(const struct bw_figure_view *view, const char *name, size_t length) {
  size_t i = 0;
  while (i < view->columns &&
         !(strncmp(view->name[i], name, length) == 0 && view->name[i][length] == '\0')) {
    i++;
  }
  return i;
}

static void keep_name(struct bw_figure_view *view, size_t column, const char *text) {
  if (column >= BW_FIGURE_COLUMNS_MAX) {
    return;
  }
  view->name[column] = copy_of(text);
  if (view->name[column] == NULL) {
    view->is_out_of_memory = true;
    return;
  }
  view->columns = column + 1;
  if (strcmp(text, "strategy") == 0) {
    view->strategy_column = column;
  }
}

/* the keys of a sweep's grid stand before its draws, status or strategy */
static void end_header(struct bw_figure_view *view) {
  static const char *const ends[] = {"sample", "status", "strategy"};
  view->keys = view->columns;
  for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
    const size_t column = column_of(view, ends[i], strlen(ends[i]));
    view->keys = column < view->keys ? column : view->keys;
  }
}

bool bw_figure_view_knows(const struct bw_figure_view *view, const char *strategy) {
  for (size_t i = view->strategies; i > 0; i--) { /* the last one is the likeliest */
    if (strcmp(view->strategy[i - 1], strategy) == 0) {
      return true;
    }
  }
  return false;
}

static void keep_strategy(struct bw_figure_view *view, const char *text) {
  if (bw_figure_view_knows(view, text) || view->strategies >= BW_FIGURE_STRATEGIES_MAX) {
    return;
  }
  char *copy = copy_of(text);
  view->is_out_of_memory = view->is_out_of_memory || copy == NULL;
  if (copy != NULL) {
    view->strategy[view->strategies++] = copy;
  }
}

static void look_at_key(struct bw_figure_view *view, size_t column, const char *text) {
  char *end = NULL;
  const double value = strtod(text, &end);
  if (view->is_axis[column] || text[0] == '\0' || *end != '\0') {
    return;
  }
  if (!view->has_number[column]) {
    view->has_number[column] = true;
    view->first_value[column] = value;
  }
  view->is_axis[column] = value < view->first_value[column] || value > view->first_value[column];
}

static bool take_cell(void *context, size_t row, size_t column, const char *text) {
  struct bw_figure_view *view = context;
  if (row == 0) {
    keep_name(view, column, text);
  } else {
    if (row == 1 && column == 0) {
      end_header(view);
    }
    if (column < view->keys) {
      look_at_key(view, column, text);
    }
    if (column == view->strategy_column) {
      keep_strategy(view, text);
    }
  }
  return !view->is_out_of_memory;
}

static bool take_header(void *context, size_t row, size_t column, const char *text) {
  struct bw_figure_view *view = context;
  if (row == 0) {
    keep_name(view, column, text);
  }
  return row == 0 && !view->is_out_of_memory;
}

enum bw_status bw_figure_view_read(const char *folder, const char *file, bool is_header_only,
                                   struct bw_figure_view *view, struct bw_diag *diag) {
  char path[BW_FIGURE_PATH_MAX];
  *view = (struct bw_figure_view){.file = file, .strategy_column = BW_FIGURE_COLUMNS_MAX};
  BW_TRY(bw_figure_path(folder, file, path, diag));
  struct stat info;
  view->is_there = stat(path, &info) == 0 && S_ISREG(info.st_mode);
  if (!view->is_there) {
    return BW_OK;
  }
  BW_TRY(bw_csv_scan(path, is_header_only ? take_header : take_cell, view, diag));
  if (view->is_out_of_memory) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the names in %s", file);
  }
  return BW_OK;
}

/* name of the first of `columns` that the file lacks, its length in *length; NULL: it has all */
static const char *missing_column(const struct bw_figure_view *view, const char *columns,
                                  size_t *length) {
  for (const char *at = columns; at[0] != '\0';) {
    *length = strcspn(at, ",");
    if (column_of(view, at, *length) == view->columns) {
      return at;
    }
    at += *length + (at[*length] == ',' ? 1 : 0);
  }
  return NULL;
}

enum bw_status bw_figure_view_check(const char *folder, const struct bw_figure_view *view,
                                    const char *columns, struct bw_diag *diag) {
  char path[BW_FIGURE_PATH_MAX];
  size_t length = 0;
  const char *missing = missing_column(view, columns, &length);
  if (missing == NULL) {
    return BW_OK;
  }
  BW_TRY(bw_figure_path(folder, view->file, path, diag));
  return bw_fail_at(diag, BW_E_INPUT, path, 1,
                    "column '%.*s' is missing; run the case again with this version", (int)length,
                    missing);
}

void bw_figure_view_free(struct bw_figure_view *view) {
  for (size_t i = 0; i < view->columns; i++) {
    bw_free(view->name[i]);
  }
  for (size_t i = 0; i < view->strategies; i++) {
    bw_free(view->strategy[i]);
  }
  *view = (struct bw_figure_view){0};
}
