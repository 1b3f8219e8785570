/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/assess_table.h"
#include "output/balance_csv.h"
#include "output/csv_write.h"
#include "output/descent_csv.h"
#include "output/resolved_file.h"
#include "output/table_file.h"

#include <math.h>

static const double KMH_PER_MPS = 3.6;

static const char *failure_text(enum bw_stop_failure failure) {
  static const char *const text[] = {"none",         "regeneration",     "circuit-front",
                                     "circuit-rear", "circuit-diagonal", "booster"};
  return text[failure];
}

static const char *charge_text(enum bw_stop_charge charge) {
  static const char *const text[] = {"full", "own", "none"};
  return text[charge];
}

/* the unit has a column of its own: rows of many figures share three columns of numbers */
static void write_row(struct bw_csv_row *csv, const struct bw_assess_row *row) {
  bw_csv_put_text(csv, row->strategy != NULL ? row->strategy->name : "");
  bw_csv_put_text(csv, row->requirement->name);
  bw_csv_put_text(csv, row->load == BW_LOAD_LADEN ? "laden" : "unladen");
  bw_csv_put_text(csv, charge_text(row->charge));
  bw_csv_put_text(csv, row->is_connected ? "connected" : "disconnected");
  bw_csv_put_text(csv, failure_text(row->failure));
  bw_csv_put_text(csv, row->condition);
  bw_csv_put_number(csv, row->speed > 0.0 ? row->speed * KMH_PER_MPS : (double)NAN);
  bw_csv_put_number(csv, row->limit);
  bw_csv_put_number(csv, row->result);
  bw_csv_put_number(csv, row->margin);
  bw_csv_put_text(csv, bw_figure_unit(row->requirement->figure));
  bw_csv_put_number(csv, row->demand);
  bw_csv_put_text(csv, bw_assess_outcome(row));
  bw_csv_put_text(csv, row->note);
  bw_csv_put_text(csv, row->requirement->source);
  bw_csv_put_text(csv, row->requirement->paragraph);
  bw_csv_put_text(csv, bw_certainty_text(row->requirement->certainty));
  bw_csv_end_row(csv);
}

static bool write_all(const struct bw_assessment *assessment, FILE *stream) {
  static const char *const columns[] = {
      "strategy",    "requirement", "load_state", "charge", "machine",   "failure",
      "condition",   "speed_kmh",   "limit",      "result", "margin",    "unit",
      "demand_mps2", "outcome",     "note",       "source", "paragraph", "certainty"};
  struct bw_csv_row csv = {.stream = stream};
  for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
    bw_csv_put_text(&csv, columns[i]);
  }
  bw_csv_end_row(&csv);
  for (size_t i = 0; i < assessment->count; i++) {
    write_row(&csv, &assessment->rows[i]);
  }
  return !csv.has_failed;
}

static const struct {
  const char *name;
  bool (*write)(const struct bw_assessment *assessment, FILE *stream);
} FILES[] = {
    {"balance.csv", bw_balance_write_csv},
    {"descent.csv", bw_descent_write_csv},
    {"assess.csv", write_all}, /* last: when it is new, the others are */
};

enum bw_status bw_assess_try_csv(const char *folder, struct bw_diag *diag) {
  for (size_t i = 0; i < sizeof FILES / sizeof *FILES; i++) {
    BW_TRY(bw_table_file_try(folder, FILES[i].name, diag));
  }
  return BW_OK;
}

enum bw_status bw_assess_write_csv(const struct bw_case *loaded,
                                   const struct bw_assessment *assessment, const char *folder,
                                   struct bw_diag *diag) {
  BW_TRY(bw_resolved_file_write(folder, "assess", loaded, diag));
  for (size_t i = 0; i < sizeof FILES / sizeof *FILES; i++) {
    struct bw_table_file file;
    BW_TRY(bw_table_file_open(&file, folder, FILES[i].name, diag));
    BW_TRY(bw_table_file_close(&file, FILES[i].write(assessment, file.stream), diag));
  }
  return BW_OK;
}
