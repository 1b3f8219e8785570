/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/path.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { START_MAX = 128 };

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

enum bw_status bw_status_of_system(int error) {
  switch (error) {
  case EACCES:
  case EPERM:
  case EROFS:
  case ENOENT:
  case ENOTDIR:
  case ENAMETOOLONG:
  case ELOOP:
  case EINVAL:
    return BW_E_USAGE;
  default:
    return BW_E_IO;
  }
}

bool bw_path_starts_with(const char *path, const char *start) {
  char found[START_MAX] = {0};
  const size_t length = strlen(start);
  struct stat info;
  /* whoever opens a pipe without a writer waits for one */
  FILE *stream = stat(path, &info) == 0 && S_ISREG(info.st_mode) ? fopen(path, "rb") : NULL;
  if (stream == NULL) {
    return false;
  }
  const size_t count = fread(found, 1, length, stream);
  (void)fclose(stream);
  return count == length && strcmp(found, start) == 0;
}

enum bw_status bw_fail_system(const char *path, const char *what, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  return bw_fail_at(diag, BW_E_IO, path, 0, "cannot %s (%s); mend that and do it again", what,
                    bw_reason(errno, text));
}
