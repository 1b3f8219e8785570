/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/sweep_series.h"

#include "alloc.h"
#include "input/number.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* columns from `status` on */
enum { VERDICT = 3 };

enum bw_status bw_series_make(struct bw_series *series, const char *strategy, size_t figures,
                              const char *folder, struct bw_diag *diag) {
  *series = (struct bw_series){.figures = figures};
  (void)snprintf(series->strategy, sizeof series->strategy, "%s", strategy);
  series->figure = bw_alloc(figures, sizeof *series->figure);
  series->row = bw_alloc(figures, sizeof *series->row);
  if (series->figure == NULL || series->row == NULL) {
    bw_series_free(series);
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the statistics");
  }
  const enum bw_status status = bw_column_store_create(folder, figures, &series->store, diag);
  if (status != BW_OK) {
    bw_series_free(series);
  }
  return status;
}

void bw_series_free(struct bw_series *series) {
  bw_column_store_destroy(series->store);
  bw_free(series->figure);
  bw_free(series->row);
  *series = (struct bw_series){0};
}

void bw_series_clear(struct bw_series *series) {
  series->runs = 0;
  series->failed = 0;
  series->missed = 0;
  memset(series->figure, 0, series->figures * sizeof *series->figure);
  bw_column_store_clear(series->store);
}

static void add_value(struct bw_series_figure *figure, double value, size_t number, uint64_t at) {
  const double step = value - figure->mean;
  figure->values++;
  figure->mean += step / (double)figure->values;
  figure->squares += step * (value - figure->mean);
  if (figure->values == 1 || value < figure->min) {
    figure->min = value;
    figure->min_row = number;
    figure->min_at = at;
  }
  if (figure->values == 1 || value > figure->max) {
    figure->max = value;
    figure->max_row = number;
    figure->max_at = at;
  }
}

enum bw_status bw_series_add(struct bw_series *series, const struct bw_sweep_table *table,
                             size_t number, uint64_t at, struct bw_diag *diag) {
  const struct bw_sweep_columns columns = bw_sweep_table_columns(table);
  const bool has_failed = strcmp(bw_sweep_table_cell(table, columns.status), "done") != 0;
  const char *verdict = bw_sweep_table_cell(table, columns.status + VERDICT);
  series->runs++;
  series->failed += has_failed ? 1 : 0;
  series->missed += !has_failed && strcmp(verdict, "missed") == 0 ? 1 : 0;
  for (size_t i = 0; i < series->figures; i++) {
    const char *cell = bw_sweep_table_cell(table, columns.figures_from + i);
    series->row[i] = (double)NAN;
    if (has_failed || cell[0] == '\0') {
      continue;
    }
    if (!bw_number_parse(cell, strlen(cell), &series->row[i])) {
      return bw_fail(diag, BW_E_INPUT, "row %zu of the sweep has no number in '%s'; make it anew",
                     number, bw_sweep_table_name(table, columns.figures_from + i));
    }
    add_value(&series->figure[i], series->row[i], number, at);
  }
  return bw_column_store_add(series->store, series->row, diag);
}

double bw_series_deviation(const struct bw_series_figure *figure) {
  return figure->values < 2 ? (double)NAN : sqrt(figure->squares / (double)(figure->values - 1));
}
