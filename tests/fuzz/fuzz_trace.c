/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A cycle or manoeuvre, and a slope profile: what is taken can be driven. */
#include "fuzz.h"
#include "input/trace.h"

#include <math.h>

enum { LOOKS = 257 };

static void check_taken(const struct bw_trace *trace) {
  FUZZ_CHECK(trace->n >= 2);
  const double duration = bw_trace_duration(trace);
  FUZZ_CHECK(isfinite(duration) && duration > 0.0);
  struct bw_trace_cursor cursor = {0};
  double greatest = 0.0;
  for (size_t i = 0; i < trace->n; i++) {
    FUZZ_CHECK(isfinite(trace->integral[i]));
    greatest = fmax(greatest, trace->value[i]);
  }
  for (int i = -2; i < LOOKS + 2; i++) {
    double value = (double)NAN;
    double derivative = (double)NAN;
    const double time = duration * (double)i / (LOOKS - 1);
    bw_trace_at(trace, &cursor, time, &value, &derivative);
    /* joined speeds are means of the table's; the rest is rounding */
    FUZZ_CHECK(value >= 0.0 && value <= greatest * (1.0 + 1e-9) + 1e-9);
    FUZZ_CHECK(isfinite(derivative));
    FUZZ_CHECK(fabs(bw_trace_grade(trace, &cursor, value * time)) <= 1.0);
  }
}

static void read_one(const char *path, double box) {
  struct bw_trace trace;
  struct bw_diag diag = {0};
  const enum bw_status status = bw_trace_read(path, box, &trace, &diag);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK((status == BW_OK) == (trace.n > 0));
  if (status == BW_OK) {
    check_taken(&trace);
    struct bw_diag other = {0};
    const enum bw_status added = bw_trace_add_grade(&trace, -7.3, &other);
    fuzz_check_outcome(added, &other);
    check_taken(&trace);
  }
  bw_trace_free(&trace);
}

/* the same bytes as the slope of a level cycle */
static void read_grade(const char *path) {
  static const double TIME[] = {0.0, 7.0, 31.0};
  static const double SPEED[] = {0.0, 23.7, 0.0};
  const struct bw_trace_points points = {BW_TRACE_SPEED, 3, TIME, SPEED};
  struct bw_trace trace;
  struct bw_diag diag = {0};
  FUZZ_CHECK(bw_trace_make(&points, 1.0, &trace, &diag) == BW_OK);
  const enum bw_status status = bw_trace_read_grade(path, &trace, &diag);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK((status == BW_OK) == (trace.grade_n > 0));
  check_taken(&trace);
  bw_trace_free(&trace);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  char path[FUZZ_PATH];
  fuzz_folder_make(&folder);
  fuzz_write(&folder, "input.csv", bytes, size, path);
  read_one(path, 0.0);
  read_one(path, 1.0);
  read_grade(path);
  fuzz_folder_remove(&folder);
  return 0;
}
