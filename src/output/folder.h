/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FOLDER_H
#define BW_FOLDER_H

#include "status.h"

#include <stdbool.h>
#include <stdio.h>

/** A results folder that appears whole or not at all.
 *
 *  Files are written into a folder of a temporary name on the same file system. A new target
 *  comes into being by one rename. An older results folder (one whose summary.csv we wrote) gets
 *  its files replaced one by one, each by a rename, so that a reader never sees half a file;
 *  traces of strategies that are no longer part of the results are removed, anything else in it
 *  stays. Any other folder that is not empty is refused. */
struct bw_folder;

/** Prepare the target `path`. BW_E_USAGE when it is a file, holds other things, or cannot be
 *  written; BW_E_IO when making the temporary folder failed otherwise; BW_E_MEMORY. On error
 *  *out is NULL and nothing is left behind. */
BW_MUST_CHECK enum bw_status bw_folder_open(const char *path, struct bw_folder **out,
                                            struct bw_diag *diag);

/** Where the files are until they are put in place. */
const char *bw_folder_path(const struct bw_folder *folder);

/** A temporary folder of the same target that a killed writer left, NULL when there is none. It is
 *  free: nobody holds the lock that a writer keeps while it is alive. Nothing of it was touched. */
const char *bw_folder_left(const struct bw_folder *folder);

/** Open a new file `name` (no '/') for writing. BW_E_IO with a message on failure. */
BW_MUST_CHECK enum bw_status bw_folder_create_file(struct bw_folder *folder, const char *name,
                                                   FILE **stream, struct bw_diag *diag);

/** Close `stream`, made by bw_folder_create_file(). `is_written` false, an error of the stream or
 *  of closing: BW_E_IO with a message that names the file (a full disk shows up here). */
BW_MUST_CHECK enum bw_status bw_folder_close_file(struct bw_folder *folder, const char *name,
                                                  FILE *stream, bool is_written,
                                                  struct bw_diag *diag);

/** Put the files in place and free the folder. On error the temporary folder is removed. */
BW_MUST_CHECK enum bw_status bw_folder_commit(struct bw_folder *folder, struct bw_diag *diag);

/** Remove what was written so far and free the folder; NULL is fine. */
void bw_folder_abandon(struct bw_folder *folder);

#endif
