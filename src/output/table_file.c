/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/table_file.h"

#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

enum { NAME_MAX_LENGTH = 64 };

enum bw_status bw_table_file_open(struct bw_table_file *file, const char *folder, const char *name,
                                  struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  char partial[NAME_MAX_LENGTH];
  (void)snprintf(partial, sizeof partial, ".partial-%s", name);
  if (folder[0] == '\0' || !bw_path_join(file->path, folder, name) ||
      !bw_path_join(file->partial, folder, partial)) {
    return bw_fail(diag, BW_E_USAGE, "--out is empty or too long; name a folder");
  }
  struct stat info;
  if (stat(folder, &info) == 0 && !S_ISDIR(info.st_mode)) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0,
                      "is a file, not a folder; name a folder as --out");
  }
  if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0,
                      "cannot create the folder (%s); choose another --out, its parent must exist",
                      bw_reason(errno, text));
  }
  file->stream = fopen(file->partial, "wb");
  if (file->stream == NULL) {
    return bw_fail_at(diag, BW_E_USAGE, file->partial, 0,
                      "cannot be created (%s); choose another --out", bw_reason(errno, text));
  }
  errno = 0;
  return BW_OK;
}

enum bw_status bw_table_file_close(struct bw_table_file *file, bool is_written,
                                   struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  const bool is_flushed = fflush(file->stream) == 0;
  const int error = errno; /* closing may well succeed after it */
  const bool is_closed = fclose(file->stream) == 0;
  file->stream = NULL;
  if (!is_written || !is_flushed || !is_closed) {
    (void)unlink(file->partial);
    return bw_fail_at(diag, BW_E_IO, file->partial, 0,
                      "cannot be written (%s); make room or choose another --out",
                      bw_reason(error, text));
  }
  if (rename(file->partial, file->path) != 0) {
    const int reason = errno;
    (void)unlink(file->partial);
    return bw_fail_at(diag, BW_E_IO, file->path, 0,
                      "cannot be put in place (%s); choose another --out", bw_reason(reason, text));
  }
  return BW_OK;
}
