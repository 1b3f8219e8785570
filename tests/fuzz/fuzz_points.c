/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A points file: every point that is taken has a value of every key. */
#include "batch/sweep_plan.h"
#include "fuzz.h"

#include <string.h>

enum { POINTS_MAX = 100 };

static void look(const struct bw_sweep_plan *plan) {
  for (size_t i = 0; i < plan->point_count && i < POINTS_MAX; i++) {
    for (size_t k = 0; k < bw_sweep_key_count(plan); k++) {
      char value[BW_SWEEP_VALUE_MAX];
      bw_sweep_value(plan, i, k, value);
      FUZZ_CHECK(strlen(value) > 0 && strlen(value) < sizeof value);
      FUZZ_CHECK(bw_sweep_key(plan, k) != NULL);
    }
    FUZZ_CHECK((bw_sweep_strategy(plan, i) != NULL) == plan->names_strategies);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  char path[FUZZ_PATH];
  fuzz_folder_make(&folder);
  fuzz_write(&folder, "input.csv", bytes, size, path);
  struct bw_csv csv;
  struct bw_diag diag = {0};
  struct bw_sweep_plan plan = {.point_count = 1};
  struct bw_param_table *table = bw_param_table_create();
  FUZZ_CHECK(table != NULL);
  enum bw_status status = bw_csv_read_words(path, &csv, &diag);
  FUZZ_CHECK((status == BW_OK) == (csv.columns > 0));
  if (status == BW_OK) {
    status = bw_sweep_plan_points(&plan, table, &csv, &diag);
  }
  fuzz_check_outcome(status, &diag);
  if (status == BW_OK) {
    FUZZ_CHECK(plan.point_count == csv.rows);
    look(&plan);
  }
  bw_sweep_plan_free(&plan);
  bw_csv_free(&csv);
  bw_param_table_destroy(table);
  fuzz_folder_remove(&folder);
  return 0;
}
