/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A descent along the way: what is taken is a trace that never stands. */
#include "fuzz.h"
#include "input/descent_read.h"

#include <math.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  char path[FUZZ_PATH];
  fuzz_folder_make(&folder);
  fuzz_write(&folder, "input.csv", bytes, size, path);
  struct bw_trace trace;
  struct bw_diag diag = {0};
  const enum bw_status status = bw_descent_read(path, &trace, &diag);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK((status == BW_OK) == (trace.n >= 2));
  for (size_t i = 0; i < trace.n; i++) {
    FUZZ_CHECK(isfinite(trace.time[i]) && isfinite(trace.value[i]) && trace.value[i] > 0.0);
    FUZZ_CHECK(i == 0 || trace.time[i] > trace.time[i - 1]);
  }
  for (size_t i = 0; i < trace.grade_n; i++) {
    FUZZ_CHECK(fabs(trace.grade_sin[i]) < 1.0);
  }
  if (status == BW_OK) {
    struct bw_trace_cursor cursor = {0};
    for (int i = 0; i <= 100; i++) {
      double value = (double)NAN;
      double derivative = (double)NAN;
      bw_trace_at(&trace, &cursor, bw_trace_duration(&trace) * 0.01 * i, &value, &derivative);
      FUZZ_CHECK(value > 0.0 && isfinite(value) && isfinite(derivative));
    }
  }
  bw_trace_free(&trace);
  fuzz_folder_remove(&folder);
  return 0;
}
