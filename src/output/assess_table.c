/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/assess_table.h"

#include "output/assess_page.h"
#include "output/case_header.h"
#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

enum { COLUMNS = 8, INDENT = 2 };

static const double KMH_PER_MPS = 3.6;

const char *bw_assess_outcome(const struct bw_assess_row *row) {
  if (row->is_information && isfinite(row->result)) {
    return "information";
  }
  if (!isfinite(row->margin)) {
    return "not assessed";
  }
  return row->margin < 0.0 ? "missed" : "kept";
}

const char *bw_assess_condition_text(const struct bw_assess_row *row) {
  if (row->condition[0] != '\0') {
    return row->condition;
  }
  switch (row->failure) {
  case BW_STOP_REGENERATION:
    return "no regeneration";
  case BW_STOP_CIRCUIT_FRONT:
    return "no front circuit";
  case BW_STOP_CIRCUIT_REAR:
    return "no rear circuit";
  case BW_STOP_CIRCUIT_DIAGONAL:
    return "one diagonal only";
  case BW_STOP_BOOSTER:
    return "no booster";
  case BW_STOP_SOUND:
    break;
  }
  if (!row->is_connected) {
    return "no machine";
  }
  static const char *const charge[] = {"battery full", "own charge", "no regeneration left"};
  return charge[row->charge];
}

const char *bw_assess_load_text(const struct bw_assess_row *row) {
  return row->load == BW_LOAD_LADEN ? "laden" : "unladen";
}

const char *bw_assess_strategy_text(const struct bw_assess_row *row) {
  return row->strategy != NULL ? row->strategy->name : "the car";
}

void bw_assess_put_number(struct bw_grid *grid, double value, int places) {
  if (isfinite(value)) {
    bw_grid_putf(grid, "%.*f", places, value + 0.0);
  } else {
    bw_grid_put(grid, "-");
  }
}

static void put_row(struct bw_grid *grid, const struct bw_assess_row *row) {
  const int places = bw_figure_places(row->requirement->figure);
  bw_grid_put(grid, row->requirement->name);
  bw_grid_put(grid, bw_assess_condition_text(row));
  if (row->speed > 0.0) {
    bw_grid_putf(grid, "%.1f", row->speed * KMH_PER_MPS);
  } else {
    bw_grid_put(grid, "-");
  }
  bw_assess_put_number(grid, row->limit, places);
  bw_assess_put_number(grid, row->result, places);
  bw_assess_put_number(grid, row->margin, places);
  bw_grid_put(grid, bw_figure_unit(row->requirement->figure));
  bw_grid_put(grid, bw_assess_outcome(row));
}

static void print_reasons(const struct bw_assessment *assessment, size_t from, size_t until,
                          FILE *stream) {
  const struct bw_assess_row *last = NULL;
  for (size_t i = from; i < until; i++) {
    const struct bw_assess_row *row = &assessment->rows[i];
    /* notes of what was assessed stand in the CSV */
    if (row->note[0] == '\0' || isfinite(row->result)) {
      last = NULL;
      continue;
    }
    /* rows of one condition share a note */
    const bool is_told = last != NULL && strcmp(last->note, row->note) == 0 &&
                         last->load == row->load &&
                         strcmp(bw_assess_condition_text(last), bw_assess_condition_text(row)) == 0;
    if (!is_told) {
      char lead[128];
      (void)snprintf(lead, sizeof lead, "  not assessed, %s, %s: ", bw_assess_condition_text(row),
                     bw_assess_load_text(row));
      bw_wrap_print(lead, row->note, stream);
    }
    last = row;
  }
}

/* rows of one load state; the load stands above them, for the width of a page */
static enum bw_status print_load(const struct bw_assessment *assessment, size_t from, size_t until,
                                 enum bw_load_state load, FILE *stream) {
  static const char *const header[COLUMNS] = {"requirement", "condition", "km/h", "limit",
                                              "result",      "margin",    "in",   "outcome"};
  struct bw_grid *grid = bw_grid_create(COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 1);
  bw_grid_align_left(grid, COLUMNS - 2);
  bw_grid_align_left(grid, COLUMNS - 1);
  for (size_t i = 0; i < COLUMNS; i++) {
    bw_grid_put(grid, header[i]);
  }
  size_t count = 0;
  for (size_t i = from; i < until; i++) {
    if (assessment->rows[i].load == load) {
      put_row(grid, &assessment->rows[i]);
      count++;
    }
  }
  enum bw_status status = BW_OK;
  if (count > 0) {
    const struct bw_blend_strategy *strategy = assessment->rows[from].strategy;
    (void)fprintf(stream, "\n%s, %s\n", strategy != NULL ? strategy->name : "whatever the strategy",
                  load == BW_LOAD_LADEN ? "laden" : "unladen");
    status = bw_grid_print(grid, BW_GRID_TEXT, 1, INDENT, stream);
  }
  bw_grid_destroy(grid);
  return status;
}

static enum bw_status print_strategy(const struct bw_assessment *assessment, size_t from,
                                     size_t until, FILE *stream) {
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    BW_TRY(print_load(assessment, from, until, (enum bw_load_state)load, stream));
  }
  print_reasons(assessment, from, until, stream);
  return BW_OK;
}

/* whether an earlier row shows the same requirement */
static bool is_seen(const struct bw_assessment *assessment, size_t index) {
  for (size_t i = 0; i < index; i++) {
    if (assessment->rows[i].requirement == assessment->rows[index].requirement) {
      return true;
    }
  }
  return false;
}

static enum bw_status print_sources(const struct bw_assessment *assessment, FILE *stream) {
  struct bw_grid *grid = bw_grid_create(4);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  static const char *const header[] = {"requirement", "source", "paragraph", "limit is"};
  for (size_t i = 0; i < 4; i++) {
    bw_grid_align_left(grid, i);
    bw_grid_put(grid, header[i]);
  }
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_requirement *row = assessment->rows[i].requirement;
    if (!is_seen(assessment, i)) {
      bw_grid_put(grid, row->name);
      bw_grid_put(grid, row->source);
      bw_grid_put(grid, row->paragraph);
      bw_grid_put(grid, bw_certainty_text(row->certainty));
    }
  }
  (void)fputs("\nSources of the limits\n", stream);
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 1, INDENT, stream);
  bw_grid_destroy(grid);
  return status;
}

static void print_notes(FILE *stream) {
  for (size_t i = 0; bw_assess_family_at(i) != NULL; i++) {
    bw_wrap_print("  ", bw_assess_family_at(i)->notes, stream);
  }
}

/* every row, strategy by strategy, then how each family works */
static enum bw_status print_rows(const struct bw_assessment *assessment, FILE *stream) {
  size_t from = 0;
  while (from < assessment->count) {
    size_t until = from;
    while (until < assessment->count &&
           assessment->rows[until].strategy == assessment->rows[from].strategy) {
      until++;
    }
    BW_TRY(print_strategy(assessment, from, until, stream));
    from = until;
  }
  BW_TRY(print_sources(assessment, stream));
  (void)fputs("\nHow it was done\n", stream);
  print_notes(stream);
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}

static void print_cautions(bool is_full, FILE *stream) {
  bw_wrap_print("  ",
                "Predictions for engineering. Type approval is the authority's, done on the "
                "vehicle by licensed people. A limit is worth what its source is: read, quoted "
                "second-hand, from memory (unverified), derived, own limit or common practice.",
                stream);
  bw_wrap_print("  ",
                "not covered by this version: antilock tests (grip used, jumps and splits of grip, "
                "steering), wheel-lock and torque-wheel tests as such, failure warnings, emergency "
                "stop signal, low-grip rules on regeneration, trailers, the axle bands of "
                "commercial categories, pedal forces.",
                stream);
  if (!is_full) {
    bw_wrap_print("  ",
                  "--full prints every row and how each part was done, --out writes all rows and "
                  "the curves behind them.",
                  stream);
  }
}

enum bw_status bw_assess_print(const struct bw_case *loaded, const struct bw_assessment *assessment,
                               bool is_full, const char *version, FILE *stream) {
  (void)fprintf(stream, "brakeweave %s, assessment\n", version);
  if (!bw_case_header_print(loaded, stream)) {
    return BW_E_IO;
  }
  BW_TRY(bw_assess_print_page(assessment, stream));
  if (is_full) {
    BW_TRY(print_rows(assessment, stream));
  }
  (void)fputc('\n', stream);
  print_cautions(is_full, stream);
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}
