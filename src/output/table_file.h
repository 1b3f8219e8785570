/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TABLE_FILE_H
#define BW_TABLE_FILE_H

#include "output/path.h"

#include <stdio.h>

/** One table that is added to a folder, whatever else the folder holds: written under a temporary
 *  name beside its own and renamed, so that a reader sees all of it or none. A whole folder of
 *  results: output/folder.h. */
struct bw_table_file {
  FILE *stream; /**< to write to */
  char path[BW_FILE_PATH_MAX];
  char partial[BW_FILE_PATH_MAX];
};

/** Begin `folder`/`name`. The folder is made when it does not exist; its parent must. BW_E_USAGE
 *  when the folder cannot be used; nothing is to be closed then. */
BW_MUST_CHECK enum bw_status bw_table_file_open(struct bw_table_file *file, const char *folder,
                                                const char *name, struct bw_diag *diag);

/** Put the table in place. `is_written` false, or a failure here: BW_E_IO, and nothing is left of
 *  the new one. */
BW_MUST_CHECK enum bw_status bw_table_file_close(struct bw_table_file *file, bool is_written,
                                                 struct bw_diag *diag);

#endif
