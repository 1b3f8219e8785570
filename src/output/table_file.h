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

/** Tell before long work whether the table `name` can be put into `folder`, which need not exist
 *  yet: BW_E_USAGE when another folder is needed, BW_E_IO when the device is in trouble. Leaves
 *  nothing behind. */
BW_MUST_CHECK enum bw_status bw_table_file_try(const char *folder, const char *name,
                                               struct bw_diag *diag);

/** Whether `folder`/`name` is a table that was added in this way, told by name and header. */
bool bw_table_file_is_ours(const char *folder, const char *name);

/** Begin `folder`/`name`. The folder is made when it does not exist; its parent must. BW_E_USAGE
 *  when the folder cannot be used or holds a file of that name that is no table of ours, BW_E_IO
 *  when the device is in trouble; nothing is to be closed then. */
BW_MUST_CHECK enum bw_status bw_table_file_open(struct bw_table_file *file, const char *folder,
                                                const char *name, struct bw_diag *diag);

/** Put the table in place. `is_written` false, or a failure here: BW_E_IO, and nothing is left of
 *  the new one. */
BW_MUST_CHECK enum bw_status bw_table_file_close(struct bw_table_file *file, bool is_written,
                                                 struct bw_diag *diag);

#endif
