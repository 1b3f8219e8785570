/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/csv_scan.h"

#include <csv.h>
#include <errno.h>
#include <stdio.h>

struct scan {
  bw_csv_cell take;
  void *context;
  size_t row;
  size_t column;
  bool is_done;
};

static void take_cell(void *text, size_t length, void *user) {
  struct scan *scan = user;
  (void)length;
  if (!scan->is_done) {
    /* a cell without text comes without a string */
    scan->is_done = !scan->take(scan->context, scan->row, scan->column, text != NULL ? text : "");
  }
  scan->column++;
}

static void take_row(int end, void *user) {
  struct scan *scan = user;
  (void)end;
  scan->row++;
  scan->column = 0;
}

static bool scan_stream(FILE *stream, struct scan *scan) {
  static const unsigned char option = CSV_APPEND_NULL;
  struct csv_parser parser;
  char bytes[65536];
  if (csv_init(&parser, option) != 0) {
    return false;
  }
  bool is_sound = true;
  for (size_t count = fread(bytes, 1, sizeof bytes, stream);
       count > 0 && is_sound && !scan->is_done; count = fread(bytes, 1, sizeof bytes, stream)) {
    is_sound = csv_parse(&parser, bytes, count, take_cell, take_row, scan) == count;
  }
  if (is_sound && !scan->is_done) {
    is_sound = csv_fini(&parser, take_cell, take_row, scan) == 0;
  }
  csv_free(&parser);
  return is_sound && ferror(stream) == 0;
}

enum bw_status bw_csv_scan(const char *path, bw_csv_cell take, void *context,
                           struct bw_diag *diag) {
  struct scan scan = {.take = take, .context = context};
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      errno == ENOENT || errno == ENOTDIR
                          ? "no such file; run the case again with this version and --out"
                          : "cannot be opened; check its permissions");
  }
  const bool is_sound = scan_stream(stream, &scan);
  (void)fclose(stream);
  if (!is_sound) {
    return bw_fail_at(diag, BW_E_INPUT, path, (int)scan.row + 1,
                      "cannot be read on from here; run the case again with --out");
  }
  if (scan.row == 0 && scan.column == 0) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is empty; run the case again with --out");
  }
  return BW_OK;
}
