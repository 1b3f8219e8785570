/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/table_file.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { NAME_MAX_LENGTH = 64 };

#define RESOLVED "# Every parameter of the run"

/* the tables that may be added to a folder, and what each begins with */
static const struct {
  const char *name;
  const char *start;
} TABLES[] = {{"assess.csv", "strategy,requirement,"}, {"balance.csv", "strategy,load_state,"},
              {"descent.csv", "strategy,profile,"},    {"faults.csv", "fault,condition,"},
              {"assess-resolved.cfg", RESOLVED},       {"faults-resolved.cfg", RESOLVED},
              {"sweep-resolved.cfg", RESOLVED},        {"find-resolved.cfg", RESOLVED}};

bool bw_table_file_is_ours(const char *folder, const char *name) {
  char path[BW_FILE_PATH_MAX];
  for (size_t i = 0; i < sizeof TABLES / sizeof *TABLES; i++) {
    if (strcmp(name, TABLES[i].name) == 0) {
      return bw_path_join(path, folder, name) && bw_path_starts_with(path, TABLES[i].start);
    }
  }
  return false;
}

/* names of the table and of what it is written to; a file of somebody else's is not replaced */
static enum bw_status name_file(struct bw_table_file *file, const char *folder, const char *name,
                                struct bw_diag *diag) {
  char partial[NAME_MAX_LENGTH];
  struct stat info;
  (void)snprintf(partial, sizeof partial, ".partial-%s", name);
  if (folder[0] == '\0' || !bw_path_join(file->path, folder, name) ||
      !bw_path_join(file->partial, folder, partial)) {
    return bw_fail(diag, BW_E_USAGE, "--out is empty or too long; name a folder");
  }
  if (stat(folder, &info) == 0 && !S_ISDIR(info.st_mode)) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0,
                      "is a file, not a folder; name a folder as --out");
  }
  if (lstat(file->path, &info) == 0 && !bw_table_file_is_ours(folder, name)) {
    return bw_fail_at(diag, BW_E_USAGE, file->path, 0,
                      "is there and was not written by this program; choose another --out");
  }
  return BW_OK;
}

/* *is_new: it did not exist */
static enum bw_status make_folder(const char *folder, bool *is_new, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  *is_new = mkdir(folder, 0777) == 0;
  if (*is_new || errno == EEXIST) {
    return BW_OK;
  }
  return bw_fail_at(diag, bw_status_of_system(errno), folder, 0,
                    "cannot create the folder (%s); choose another --out, its parent must exist",
                    bw_reason(errno, text));
}

static enum bw_status create(struct bw_table_file *file, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  /* what a killed run left, or a link or pipe of that name, is not written through */
  (void)unlink(file->partial);
  file->stream = fopen(file->partial, "wbx");
  if (file->stream == NULL) {
    return bw_fail_at(diag, bw_status_of_system(errno), file->partial, 0,
                      "cannot be created (%s); choose another --out", bw_reason(errno, text));
  }
  errno = 0;
  return BW_OK;
}

enum bw_status bw_table_file_try(const char *folder, const char *name, struct bw_diag *diag) {
  struct bw_table_file file;
  bool is_new = false;
  BW_TRY(name_file(&file, folder, name, diag));
  BW_TRY(make_folder(folder, &is_new, diag));
  const enum bw_status status = create(&file, diag);
  if (status == BW_OK) {
    (void)fclose(file.stream);
    (void)unlink(file.partial);
  }
  if (is_new) {
    (void)rmdir(folder);
  }
  return status;
}

enum bw_status bw_table_file_open(struct bw_table_file *file, const char *folder, const char *name,
                                  struct bw_diag *diag) {
  bool is_new = false;
  BW_TRY(name_file(file, folder, name, diag));
  BW_TRY(make_folder(folder, &is_new, diag));
  return create(file, diag);
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
