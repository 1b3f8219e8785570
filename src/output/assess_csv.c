/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/assess_table.h"
#include "output/balance_csv.h"
#include "output/csv_write.h"
#include "output/descent_csv.h"

#include <errno.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { ASSESS_PATH_MAX = 4096, ERROR_TEXT_MAX = 128 };

/* one file of the folder; `write` is false when the stream failed */
struct assess_file {
  const char *name;
  bool (*write)(const struct bw_assessment *assessment, FILE *stream);
};

static const double KMH_PER_MPS = 3.6;

static const char *error_text(int error, char text[ERROR_TEXT_MAX]) {
  return strerror_r(error, text, ERROR_TEXT_MAX) == 0 ? text : "unknown error";
}

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

static enum bw_status write_partial(const struct bw_assessment *assessment,
                                    const struct assess_file *file, const char *partial,
                                    struct bw_diag *diag) {
  char text[ERROR_TEXT_MAX];
  errno = 0;
  FILE *stream = fopen(partial, "wb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_USAGE, partial, 0, "cannot be created (%s); choose another --out",
                      error_text(errno, text));
  }
  bool is_written = file->write(assessment, stream);
  is_written = fflush(stream) == 0 && is_written;
  const int error = errno;
  is_written = fclose(stream) == 0 && is_written;
  if (is_written) {
    return BW_OK;
  }
  (void)unlink(partial);
  return bw_fail_at(diag, BW_E_IO, partial, 0,
                    "cannot be written (%s); make room or choose another --out",
                    error_text(error != 0 ? error : EIO, text));
}

static enum bw_status write_file(const struct bw_assessment *assessment,
                                 const struct assess_file *file, const char *folder,
                                 struct bw_diag *diag) {
  char text[ERROR_TEXT_MAX];
  char path[ASSESS_PATH_MAX];
  char partial[ASSESS_PATH_MAX];
  const int length = snprintf(partial, sizeof partial, "%s/.partial-%s", folder, file->name);
  if (folder[0] == '\0' || length >= ASSESS_PATH_MAX) {
    return bw_fail(diag, BW_E_USAGE, "--out is empty or too long; name a folder");
  }
  (void)snprintf(path, sizeof path, "%s/%s", folder, file->name);
  if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0,
                      "cannot create the folder (%s); choose another --out, its parent must exist",
                      error_text(errno, text));
  }
  BW_TRY(write_partial(assessment, file, partial, diag));
  if (rename(partial, path) == 0) {
    return BW_OK;
  }
  const int error = errno;
  (void)unlink(partial);
  return bw_fail_at(diag, BW_E_IO, path, 0, "cannot be put in place (%s); choose another --out",
                    error_text(error, text));
}

enum bw_status bw_assess_write_csv(const struct bw_assessment *assessment, const char *folder,
                                   struct bw_diag *diag) {
  static const struct assess_file files[] = {
      {"balance.csv", bw_balance_write_csv},
      {"descent.csv", bw_descent_write_csv},
      {"assess.csv", write_all}, /* last: when it is new, the others are */
  };
  for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
    BW_TRY(write_file(assessment, &files[i], folder, diag));
  }
  return BW_OK;
}
