/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/resolved_file.h"

#include "input/param.h"
#include "output/table_file.h"

enum { NAME_LENGTH = 48 };

enum bw_status bw_resolved_file_write(const char *folder, const char *table,
                                      const struct bw_case *loaded, struct bw_diag *diag) {
  struct bw_table_file file;
  char name[NAME_LENGTH];
  (void)snprintf(name, sizeof name, "%.24s-resolved.cfg", table);
  BW_TRY(bw_table_file_open(&file, folder, name, diag));
  return bw_table_file_close(&file, bw_param_write_resolved(loaded, file.stream), diag);
}
