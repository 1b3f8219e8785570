/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PATH_H
#define BW_PATH_H

#include "status.h"

#include <dirent.h>
#include <stdbool.h>

/** Paths of files in folders, and what the system says when one cannot be had. */

enum { BW_FILE_PATH_MAX = 4096, BW_REASON_MAX = 128 };

/** `folder`/`name`; false when it does not fit. */
bool bw_path_join(char path[BW_FILE_PATH_MAX], const char *folder, const char *name);

/** `folder`/`table``ending`, as sweep.journal; false when it does not fit. */
bool bw_path_of_table(char path[BW_FILE_PATH_MAX], const char *folder, const char *table,
                      const char *ending);

/** The next entry of a folder but for '.' and '..'; NULL behind the last. */
const struct dirent *bw_path_next(DIR *stream);

/** Remove a folder and the files in it, as far as that is possible. Folders in it stay. */
void bw_path_remove_folder(const char *path);

/** What the system says about an error number (0: a failed write whose number is gone), as
 *  strerror() does but safe among threads. Gives `text` or a constant. */
const char *bw_reason(int error, char text[BW_REASON_MAX]);

/** BW_E_USAGE for an error number when another path would do, BW_E_IO when the device is in
 *  trouble. */
enum bw_status bw_status_of_system(int error);

/** Whether there is a regular file at `path` that begins with `start`, shorter than 128 bytes. */
bool bw_path_starts_with(const char *path, const char *start);

/** BW_E_IO at `path`: cannot `what`, with the reason in errno. */
enum bw_status bw_fail_system(const char *path, const char *what, struct bw_diag *diag);

#endif
