/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report.h"

#include "alloc.h"

#include <string.h>

/* a descent is shown at every tenth of its way, so a page takes many of them */
enum { TENTHS = 10, ROWS_MOST = 2000 };

static const struct bw_report_column DESCENTS[] = {
    {"strategy", "strategy", 0, 0},
    {"profile", "descent", 0, 0},
    {"load_state", "load", 0, 0},
    {"charge", "charge", 0, 0},
    {"distance_m", "distance, m", 0, 0},
    {"time_s", "time, s", 0, 0},
    {"speed_kmh", "speed, km/h", 0, 1},
    {"grade_percent", "grade, %", 0, 1},
    {"soc_percent", "state of charge, %", 0, 2},
    {"charge_limit_kw", "charge limit, kW", 0, 2},
    {"battery_power_kw", "into the battery, kW", 0, 2},
    {"machine_axle_kw", "machines at the axles, kW", 0, 2},
    {"friction_kw", "friction, kW", 0, 2},
    {"rotor_front_c", "front disc, °C", 0, 1},
    {"rotor_rear_c", "rear disc, °C", 0, 1},
    {"pad_front_c", "front pad, °C", 0, 1},
    {"pad_rear_c", "rear pad, °C", 0, 1},
};

/* whether two rows are of one descent, whose rows follow one another */
static bool is_same_descent(const struct bw_report_table *table, size_t a, size_t b) {
  static const char *const columns[] = {"strategy", "profile", "load_state", "charge"};
  for (size_t i = 0; i < BW_REPORT_COUNT(columns); i++) {
    if (strcmp(bw_report_cell(table, a, columns[i]), bw_report_cell(table, b, columns[i])) != 0) {
      return false;
    }
  }
  return true;
}

/* the row behind the descent that begins at `first` */
static size_t end_of(const struct bw_report_table *table, size_t first) {
  size_t end = first + 1;
  while (end < table->rows && is_same_descent(table, first, end)) {
    end++;
  }
  return end;
}

/* add the rows of one descent at the ends of `parts` equal parts of its way; gives their number */
static size_t add_rows(const struct bw_report_table *table, size_t first, size_t end, size_t parts,
                       size_t *row) {
  const double way = bw_report_number(table, end - 1, "distance_m");
  size_t count = 0;
  for (size_t i = first; i < end && count < parts; i++) {
    const double mark = way * (double)(count + 1) / (double)parts;
    if (i + 1 == end || bw_report_number(table, i, "distance_m") >= mark) {
      row[count] = count + 1 < parts ? i : end - 1;
      count++;
    }
  }
  return count;
}

static size_t choose(const struct bw_report_table *table, size_t parts, size_t *row) {
  size_t count = 0;
  for (size_t first = 0; first < table->rows && count + parts <= ROWS_MOST;) {
    const size_t end = end_of(table, first);
    count += add_rows(table, first, end, parts, row + count);
    first = end;
  }
  return count;
}

void bw_report_put_descents(const struct bw_report *report) {
  const struct bw_report_table *table = &report->table[BW_REPORT_DESCENT];
  if (!bw_report_has(report, BW_REPORT_DESCENT)) {
    return;
  }
  bw_html_section(report->stream, "descents", "Long descents");
  if (table->rows == 0) {
    (void)fputs("<p>No descent was driven.</p>\n", report->stream);
    return;
  }
  size_t *row = bw_alloc(ROWS_MOST, sizeof *row);
  if (row == NULL) {
    return;
  }
  struct bw_report_view view = {
      .table = table,
      .id = "table-descent-ends",
      .caption = "Where each descent ends. With a full battery the machines brake with no more "
                 "than auxiliaries and their own losses take.",
      .column = DESCENTS,
      .columns = BW_REPORT_COUNT(DESCENTS),
      .row = row,
      .rows = choose(table, 1, row)};
  bw_html_table(report->stream, &view);
  view.id = "table-descents";
  view.caption = "Each descent at the tenths of its way; descent.csv holds every stretch.";
  view.fold = "Along each descent";
  view.rows = choose(table, TENTHS, row);
  bw_html_table(report->stream, &view);
  bw_free(row);
}
