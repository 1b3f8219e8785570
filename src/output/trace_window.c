/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/trace_thin.h"

#include "output/csv_scan.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* around the hand-over: this share of its length and this long more, as the script shows */
static const double MARGIN_SHARE = 0.6;
static const double MARGIN_S = 0.3;
/* rows beside the window, so that the first difference in it is one of neighbours */
static const double NEIGHBOURS_S = 0.2;

enum column { STRATEGY, START, END, DIP, COLUMNS };

struct search {
  const char *strategy;
  size_t column[COLUMNS]; /* in the file */
  bool is_ours;
  double value[COLUMNS];
  double deepest[COLUMNS];
};

static bool take_cell(void *context, size_t row, size_t column, const char *text) {
  static const char *const names[COLUMNS] = {"strategy", "start_s", "end_s", "dip_peak_mps2"};
  struct search *search = context;
  for (int i = 0; i < COLUMNS; i++) {
    if (row == 0 && strcmp(text, names[i]) == 0) {
      search->column[i] = column;
    } else if (row > 0 && column == search->column[i]) {
      search->is_ours = i == STRATEGY ? strcmp(text, search->strategy) == 0 : search->is_ours;
      search->value[i] = strtod(text, NULL);
    }
  }
  if (row > 0 && column == search->column[DIP] && search->is_ours &&
      search->value[DIP] > search->deepest[DIP]) {
    memcpy(search->deepest, search->value, sizeof search->deepest);
  }
  return true;
}

enum bw_status bw_trace_thin_window(const char *path, const char *strategy,
                                    struct bw_trace_thinning *thinning, struct bw_diag *diag) {
  struct search search = {.strategy = strategy, .deepest = {[DIP] = -1.0}};
  thinning->from = 0.0;
  thinning->to = -1.0;
  BW_TRY(bw_csv_scan(path, take_cell, &search, diag));
  if (search.deepest[DIP] >= 0.0) {
    const double margin =
        MARGIN_SHARE * (search.deepest[END] - search.deepest[START]) + MARGIN_S + NEIGHBOURS_S;
    thinning->from = search.deepest[START] - margin;
    thinning->to = search.deepest[END] + margin;
  }
  return BW_OK;
}
