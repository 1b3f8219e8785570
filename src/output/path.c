/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/path.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

bool bw_path_join(char path[BW_FILE_PATH_MAX], const char *folder, const char *name) {
  const int length = snprintf(path, BW_FILE_PATH_MAX, "%s/%s", folder, name);
  return length > 0 && length < BW_FILE_PATH_MAX;
}

bool bw_path_of_table(char path[BW_FILE_PATH_MAX], const char *folder, const char *table,
                      const char *ending) {
  const int length = snprintf(path, BW_FILE_PATH_MAX, "%s/%s%s", folder, table, ending);
  return length > 0 && length < BW_FILE_PATH_MAX;
}

const struct dirent *bw_path_next(DIR *stream) {
  const struct dirent *entry = NULL;
  do {
    /* one's own stream is safe, strict readings of POSIX aside */
    entry = readdir(stream); /* NOLINT(concurrency-mt-unsafe) */
  } while (entry != NULL && (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0));
  return entry;
}

void bw_path_remove_folder(const char *path) {
  DIR *stream = opendir(path);
  if (stream != NULL) {
    const struct dirent *entry = NULL;
    while ((entry = bw_path_next(stream)) != NULL) {
      char file[BW_FILE_PATH_MAX];
      if (bw_path_join(file, path, entry->d_name)) {
        (void)unlink(file);
      }
    }
    (void)closedir(stream);
  }
  (void)rmdir(path);
}

const char *bw_reason(int error, char text[BW_REASON_MAX]) {
  if (error == 0) {
    return "a write failed, is the disk full?";
  }
  return strerror_r(error, text, BW_REASON_MAX) == 0 ? text : "unknown error";
}

enum bw_status bw_fail_system(const char *path, const char *what, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  return bw_fail_at(diag, BW_E_IO, path, 0, "cannot %s (%s); mend that and do it again", what,
                    bw_reason(errno, text));
}
