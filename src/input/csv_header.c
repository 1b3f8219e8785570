/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/csv.h"
#include "input/csv_show.h"
#include "input/number.h"

#include <stdio.h>
#include <string.h>

enum { SHOWN_BYTES = (BW_CSV_SHOWN_MAX - 4) / 4 };

void bw_csv_show(const char *cell, size_t length, char shown[BW_CSV_SHOWN_MAX]) {
  size_t at = 0;
  for (size_t i = 0; i < length && i < SHOWN_BYTES; i++) {
    const unsigned char byte = (unsigned char)cell[i];
    if (byte < 0x20 || byte > 0x7e) {
      (void)snprintf(shown + at, 5, "\\x%02x", (unsigned)byte);
      at += 4;
    } else {
      shown[at++] = (char)byte;
    }
  }
  (void)snprintf(shown + at, 4, "%s", length > SHOWN_BYTES ? "..." : "");
}

size_t bw_csv_column(const struct bw_csv *csv, const char *name) {
  for (size_t i = 0; i < csv->columns; i++) {
    if (strcmp(csv->names[i], name) == 0) {
      return i;
    }
  }
  return csv->columns;
}

static enum bw_status fail_unknown(const struct bw_csv *csv, const char *name,
                                   const char *const *known, size_t count, struct bw_diag *diag) {
  char shown[BW_CSV_SHOWN_MAX];
  bw_csv_show(name, strlen(name), shown);
  const size_t near = bw_nearest(name, known, count);
  if (near < count) {
    return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->header_line,
                      "unknown column '%s'; did you mean '%s'?", shown, known[near]);
  }
  char list[256] = "";
  for (size_t i = 0; i < count; i++) {
    const size_t used = strlen(list);
    (void)snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "", known[i]);
  }
  return bw_fail_at(diag, BW_E_INPUT, csv->path, csv->header_line,
                    "unknown column '%s'; take it out (known: %s)", shown, list);
}

enum bw_status bw_csv_expect(const struct bw_csv *csv, const char *const *known, size_t count,
                             size_t required, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < csv->columns; i++) {
    const char *name = csv->names[i];
    bool is_known = false;
    for (size_t k = 0; k < count; k++) {
      is_known = is_known || strcmp(name, known[k]) == 0;
    }
    if (!is_known) {
      status = fail_unknown(csv, name, known, count, diag);
    } else if (bw_csv_column(csv, name) < i) {
      status = bw_fail_at(diag, BW_E_INPUT, csv->path, csv->header_line,
                          "column '%s' appears twice; take one out", name);
    }
  }
  for (size_t k = 0; k < required; k++) {
    if (bw_csv_column(csv, known[k]) == csv->columns) {
      status = bw_fail_at(diag, BW_E_INPUT, csv->path, csv->header_line,
                          "column '%s' is missing; add it", known[k]);
    }
  }
  return status;
}
