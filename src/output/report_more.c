/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report.h"

#include "alloc.h"

#include <string.h>

enum { WORST_FAULTS = 15, FAULTS_MOST = 800, ROWS_MOST = 1200, KEYS_MOST = 8, TEXT_LENGTH = 400 };

static const struct bw_report_column REQUIREMENTS[] = {
    {"strategy", "strategy", 0, 0},
    {"requirement", "requirement", 0, 0},
    {"outcome", "outcome", 0, 0},
    {"result", "result", 0, BW_REPORT_DIGITS},
    {"limit", "limit", 0, BW_REPORT_DIGITS},
    {"margin", "margin", 0, BW_REPORT_DIGITS},
    {"unit", "unit", 0, 0},
    {"load_state", "load", 0, 0},
    {"charge", "charge", 0, 0},
    {"machine", "machine", 0, 0},
    {"failure", "failure", 0, 0},
    {"condition", "condition", 0, 0},
    {"speed_kmh", "speed, km/h", 0, 1},
    {"note", "note", 0, 0},
    {"source", "source", 0, 0},
    {"paragraph", "paragraph", 0, 0},
    {"certainty", "source is", 0, 0},
};
/* before the keys of the conditions */
static const struct bw_report_column FAULTS[] = {
    {"fault", "fault", 0, 0},
    {"condition", "condition", 0, 0},
    {"start_s", "worst start, s", 0, 3},
    {"speed_kmh", "speed, km/h", 0, 1},
    {"lost_mps2", "deceleration lost, m/s²", 0, 2},
    {"gained_mps2", "unintended, m/s²", 0, 2},
    {"further_m", "further, m", 0, 2},
    {"speed_left_kmh", "speed left, km/h", 0, 1},
    {"slip_peak", "greatest slip", 0, 3},
    {"no_grip_s", "without grip, s", 0, 2},
    {"axle_margin_worst", "axle margin", 0, 4},
    {"until_met_s", "until met again, s", 0, 2},
    {"status", "status", 0, 0},
    {"reason", "reason", 0, 0},
};
/* behind the keys of the grid */
static const struct bw_report_column STATISTICS[] = {
    {"strategy", "strategy", 0, 0},
    {"column", "column", 0, 0},
    {"runs", "runs", 0, 0},
    {"failed", "failed", 0, 0},
    {"missed", "missed", 0, 0},
    {"mean", "mean", 0, BW_REPORT_DIGITS},
    {"std", "standard deviation", 0, BW_REPORT_DIGITS},
    {"min", "least", 0, BW_REPORT_DIGITS},
    {"p05", "5 %", 0, BW_REPORT_DIGITS},
    {"p50", "middle", 0, BW_REPORT_DIGITS},
    {"p95", "95 %", 0, BW_REPORT_DIGITS},
    {"max", "greatest", 0, BW_REPORT_DIGITS},
    {"worst", "worst", 0, BW_REPORT_DIGITS},
    {"worst_row", "in row", 0, 0},
};
static const struct bw_report_column FIND[] = {
    {"strategy", "strategy", 0, 0},
    {"find", "condition", 0, 0},
    {"along", "along", 0, 0},
    {"result", "result", 0, 0},
    {"first", "first seen to hold", 0, BW_REPORT_DIGITS},
    {"clear", "last clear", 0, BW_REPORT_DIGITS},
    {"runs", "runs", 0, 0},
    {"failed", "failed", 0, 0},
    {"crossings", "crossings", 0, 0},
    {"note", "note", 0, 0},
};

/* add the file's own columns from `from` to before `until`: the keys; gives their number */
static size_t add_keys(const struct bw_report_table *table, size_t from, const char *until,
                       struct bw_report_column *out) {
  const size_t end = bw_report_table_column(table, until);
  size_t columns = 0;
  for (size_t i = from; i < end && columns < KEYS_MOST; i++) {
    out[columns++] = (struct bw_report_column){.name = table->cell[i], .places = BW_REPORT_DIGITS};
  }
  return columns;
}

/* keys of a sweep, which stand before the strategy, then the given columns; gives their number */
static size_t compose(const struct bw_report_table *table, const struct bw_report_column *also,
                      size_t count, struct bw_report_column out[BW_REPORT_COLUMNS]) {
  const size_t keys = add_keys(table, 0, "strategy", out);
  memcpy(out + keys, also, count * sizeof *also);
  return keys + count;
}

/* rows whose `column` is `value`, at most `most`; gives their number */
static size_t choose(const struct bw_report_table *table, const char *column, const char *value,
                     size_t most, size_t *row) {
  size_t count = 0;
  for (size_t i = 0; i < table->rows && count < most; i++) {
    if (strcmp(bw_report_cell(table, i, column), value) == 0) {
      row[count++] = i;
    }
  }
  return count;
}

static void put_outcome(const struct bw_report *report, struct bw_report_view *view,
                        const char *outcome, size_t *row, const char *empty) {
  view->row = row;
  view->rows = choose(view->table, "outcome", outcome, ROWS_MOST, row);
  if (view->rows == 0) {
    (void)fprintf(report->stream, "<p>%s</p>\n", empty);
  } else {
    bw_html_table(report->stream, view);
  }
}

void bw_report_put_requirements(const struct bw_report *report) {
  const struct bw_report_table *table = &report->table[BW_REPORT_ASSESS];
  if (!bw_report_has(report, BW_REPORT_ASSESS)) {
    return;
  }
  bw_html_section(report->stream, "requirements", "Published requirements");
  size_t *row = bw_alloc(table->rows + 1, sizeof *row);
  if (row != NULL) { /* the list of all rows below needs none */
    struct bw_report_view view = {.table = table,
                                  .id = "table-missed",
                                  .caption = "Missed.",
                                  .column = REQUIREMENTS,
                                  .columns = BW_REPORT_COUNT(REQUIREMENTS)};
    put_outcome(report, &view, "missed", row, "No requirement that was assessed is missed.");
    view.id = "table-not-assessed";
    view.caption = "Not assessed; the note says what is missing.";
    put_outcome(report, &view, "not assessed", row, "Nothing was left unassessed.");
    bw_free(row);
  }
  bw_report_put_first(
      report, BW_REPORT_ASSESS, ROWS_MOST,
      &(struct bw_report_view){
          .id = "table-requirements",
          .caption = "Every requirement and condition. Rows of information have no limit that "
                     "binds this car. Predictions: approval is the authority's, on the vehicle.",
          .column = REQUIREMENTS,
          .columns = BW_REPORT_COUNT(REQUIREMENTS),
          .fold = "All requirements"});
}

void bw_report_put_faults(const struct bw_report *report) {
  const struct bw_report_table *table = &report->table[BW_REPORT_FAULTS];
  if (!bw_report_has(report, BW_REPORT_FAULTS)) {
    return;
  }
  struct bw_report_column column[BW_REPORT_COLUMNS];
  memcpy(column, FAULTS, sizeof FAULTS);
  bw_html_section(report->stream, "faults", "Faults");
  struct bw_report_view view = {
      .table = table,
      .id = "table-worst-faults",
      .caption = "The worst of fault and condition, in the order the study was asked for. Measures "
                 "of severity: exposure, controllability and the rating are not given here.",
      .column = column,
      .columns =
          BW_REPORT_COUNT(FAULTS) + add_keys(table, 2, "start_s", column + BW_REPORT_COUNT(FAULTS)),
      .rows = table->rows < WORST_FAULTS ? table->rows : WORST_FAULTS};
  bw_html_table(report->stream, &view);
  view.id = "table-faults";
  view.caption = "Every fault and condition, worst first.";
  view.fold = "All faults and conditions";
  bw_report_put_first(report, BW_REPORT_FAULTS, FAULTS_MOST, &view);
}

static bool is_main_column(const char *name) {
  static const char *const names[] = {"energy_battery_kj", "dip_peak_mps2", "axle_margin_worst",
                                      "stopping_distance_m", "net_consumption_wh_per_km"};
  for (size_t i = 0; i < BW_REPORT_COUNT(names); i++) {
    if (strcmp(name, names[i]) == 0) {
      return true;
    }
  }
  return false;
}

static void put_statistics(const struct bw_report *report) {
  const struct bw_report_table *table = &report->table[BW_REPORT_STATISTICS];
  struct bw_report_column column[BW_REPORT_COLUMNS];
  char caption[TEXT_LENGTH];
  size_t *row = bw_alloc(table->rows + 1, sizeof *row);
  size_t rows = 0;
  for (size_t i = 0; row != NULL && i < table->rows && rows < ROWS_MOST; i++) {
    if (is_main_column(bw_report_cell(table, i, "column")) &&
        bw_report_cell(table, i, "mean")[0] != '\0') {
      row[rows++] = i;
    }
  }
  (void)snprintf(caption, sizeof caption,
                 "Statistics of the main columns by point and strategy, each in the unit its name "
                 "carries; sweep-statistics.csv has every column%s.",
                 table->rows < table->rows_seen ? " and more points" : "");
  bw_html_table(report->stream,
                &(struct bw_report_view){
                    .table = table,
                    .id = "table-statistics",
                    .caption = caption,
                    .column = column,
                    .columns = compose(table, STATISTICS, BW_REPORT_COUNT(STATISTICS), column),
                    .row = row,
                    .rows = rows});
  bw_free(row);
}

void bw_report_put_sweep(const struct bw_report *report) {
  const bool has_find = bw_report_has(report, BW_REPORT_FIND);
  if (!bw_report_has(report, BW_REPORT_SWEEP) && !has_find) {
    return;
  }
  bw_html_section(report->stream, "sweep", "Sweep");
  if (bw_report_has(report, BW_REPORT_STATISTICS)) {
    put_statistics(report);
  }
  if (has_find) {
    const struct bw_report_table *table = &report->table[BW_REPORT_FIND];
    struct bw_report_column column[BW_REPORT_COLUMNS];
    bw_report_put_first(
        report, BW_REPORT_FIND, ROWS_MOST,
        &(struct bw_report_view){.id = "table-find",
                                 .caption = "Where it begins to go wrong.",
                                 .column = column,
                                 .columns = compose(table, FIND, BW_REPORT_COUNT(FIND), column)});
  }
}
