/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of numbers, read as each kind of table there is: what is taken has a finite value
 * everywhere. */
#include "fuzz.h"
#include "input/param_row.h"
#include "input/strategy_table.h"
#include "input/table_read.h"

#include <math.h>

static void look_1d(const struct bw_table_rows *rows, const char *columns) {
  struct bw_table1 table;
  struct bw_diag diag = {0};
  FUZZ_CHECK(bw_table_to_1d(rows, columns, 1, &table, &diag) == BW_OK);
  double x = -1e3;
  while (x < 1e5) {
    FUZZ_CHECK(isfinite(bw_table1_at(&table, x)) && isfinite(bw_table1_integral(&table, x)) &&
               isfinite(bw_table1_mean(&table, x, 0.3)));
    x = x < 1.0 ? x + 37.0 : 1.7 * x;
  }
}

static void look_2d(const struct bw_table_rows *rows, const char *columns) {
  struct bw_table2 table;
  struct bw_diag diag = {0};
  FUZZ_CHECK(bw_table_to_2d(rows, columns, &table, &diag) == BW_OK);
  double x = -1e3;
  while (x < 1e4) {
    FUZZ_CHECK(isfinite(bw_table2_at(&table, x, 0.5 * x)));
    x = x < 1.0 ? x + 137.0 : 2.7 * x;
  }
}

static void read_one(const char *path, const struct bw_param_row *row) {
  struct bw_table_rows rows = {0};
  struct bw_diag diag = {0};
  const char *columns = row->param.choices;
  enum bw_status status = bw_table_read(path, columns, &rows, &diag);
  FUZZ_CHECK((status == BW_OK) == (rows.count > 0));
  const struct bw_table_check check = {.key = row->param.key,
                                       .columns = columns,
                                       .file = path,
                                       .is_grid = row->store == BW_STORE_TABLE2};
  if (status == BW_OK) {
    status = row->store == BW_STORE_NONE ? bw_strategy_table_check(&rows, &check, &diag)
                                         : bw_table_check(&rows, &check, &diag);
  }
  fuzz_check_outcome(status, &diag);
  if (status == BW_OK && row->store == BW_STORE_TABLE1) {
    look_1d(&rows, columns);
  }
  if (status == BW_OK && row->store == BW_STORE_TABLE2) {
    look_2d(&rows, columns);
  }
  bw_table_rows_free(&rows);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  char path[FUZZ_PATH];
  fuzz_folder_make(&folder);
  fuzz_write(&folder, "input.csv", bytes, size, path);
  struct bw_param_table *table = bw_param_table_create();
  FUZZ_CHECK(table != NULL);
  for (size_t i = 0; i < bw_param_count(table); i++) {
    const struct bw_param_row *row = bw_param_row_at(table, i);
    if (row->param.kind == BW_PARAM_TABLE) {
      read_one(path, row);
    }
  }
  bw_param_table_destroy(table);
  fuzz_folder_remove(&folder);
  return 0;
}
