/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/folder.h"

#include "alloc.h"
#include "output/path.h"
#include "output/result_csv.h"
#include "output/table_file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PARTIAL_MAX = 10000 };

struct bw_folder {
  char target[BW_FILE_PATH_MAX];
  char partial[BW_FILE_PATH_MAX]; /* the temporary folder */
  char left[BW_FILE_PATH_MAX];    /* one that a killed writer left, empty: none */
  int held;                       /* the temporary folder, locked while we are alive; -1: not */
  bool is_new;                    /* the target did not exist */
};

static bool is_partial(const char *name) {
  return strncmp(name, ".partial-", strlen(".partial-")) == 0;
}

/* empty but for results of other verbs and what an earlier, killed run left */
static bool is_empty(const char *path) {
  DIR *folder = opendir(path);
  if (folder == NULL) {
    return false;
  }
  bool has_entry = false;
  const struct dirent *entry = NULL;
  while ((entry = bw_path_next(folder)) != NULL) {
    has_entry = has_entry || !(is_partial(entry->d_name) || strcmp(entry->d_name, "figures") == 0 ||
                               bw_table_file_is_ours(path, entry->d_name));
  }
  (void)closedir(folder);
  return !has_entry;
}

static enum bw_status check_existing(const char *path, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  char summary[BW_FILE_PATH_MAX];
  if (access(path, R_OK | W_OK | X_OK) != 0) {
    return bw_fail_at(diag, BW_E_USAGE, path, 0,
                      "cannot write into this folder (%s); choose another --out",
                      bw_reason(errno, text));
  }
  if (!bw_path_join(summary, path, "summary.csv")) {
    return bw_fail_at(diag, BW_E_USAGE, path, 0, "path is too long; choose a shorter --out");
  }
  if (bw_path_starts_with(summary, BW_SUMMARY_CSV_START) || is_empty(path)) {
    return BW_OK;
  }
  return bw_fail_at(diag, BW_E_USAGE, path, 0,
                    "folder holds files that are no results; name a new or empty folder");
}

static enum bw_status check_target(struct bw_folder *folder, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  struct stat info;
  if (stat(folder->target, &info) == 0) {
    if (!S_ISDIR(info.st_mode)) {
      return bw_fail_at(diag, BW_E_USAGE, folder->target, 0,
                        "is a file, not a folder; name a folder as --out");
    }
    return check_existing(folder->target, diag);
  }
  if (errno != ENOENT) {
    return bw_fail_at(diag, bw_status_of_system(errno), folder->target, 0,
                      "cannot be used as results folder (%s); choose another --out",
                      bw_reason(errno, text));
  }
  folder->is_new = true;
  return BW_OK;
}

/* The lock ends with the last process that has the folder open, however that ends, and unlike a
 * process id it means the same on another machine. Gives -1 where somebody else holds it, or where
 * the file system knows no locks. */
static int lock_folder(const char *path) {
  const int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (folder >= 0 && flock(folder, LOCK_EX | LOCK_NB) != 0) {
    (void)close(folder);
    return -1;
  }
  return folder;
}

static void unlock_folder(int folder) {
  if (folder >= 0) {
    (void)close(folder);
  }
}

/* another writer's temporary folder; only told, never removed: one that was made this instant is
 * not locked yet */
static void look_at_other(struct bw_folder *folder) {
  const int other = folder->left[0] == '\0' ? lock_folder(folder->partial) : -1;
  if (other >= 0) {
    memcpy(folder->left, folder->partial, sizeof folder->left);
  }
  unlock_folder(other);
}

static enum bw_status make_partial(struct bw_folder *folder, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  const char *separator = folder->is_new ? "" : "/";
  for (int i = 0; i < PARTIAL_MAX; i++) {
    const int length = snprintf(folder->partial, BW_FILE_PATH_MAX, "%s%s.partial-%04d",
                                folder->target, separator, i);
    if (length < 0 || length >= BW_FILE_PATH_MAX) {
      return bw_fail_at(diag, BW_E_USAGE, folder->target, 0,
                        "path is too long; choose a shorter --out");
    }
    if (mkdir(folder->partial, 0777) == 0) {
      folder->held = lock_folder(folder->partial);
      return BW_OK;
    }
    if (errno != EEXIST) {
      break;
    }
    look_at_other(folder);
  }
  return bw_fail_at(diag, bw_status_of_system(errno), folder->target, 0,
                    "cannot create the results folder (%s); choose another --out, its parent "
                    "folder must exist",
                    bw_reason(errno, text));
}

static enum bw_status set_target(struct bw_folder *folder, const char *path, struct bw_diag *diag) {
  size_t length = strlen(path);
  while (length > 1 && path[length - 1] == '/') {
    length--;
  }
  if (length == 0) {
    return bw_fail(diag, BW_E_USAGE, "--out is empty; name a folder");
  }
  if (length >= BW_FILE_PATH_MAX) {
    return bw_fail(diag, BW_E_USAGE, "--out is longer than %d bytes; choose a shorter path",
                   BW_FILE_PATH_MAX - 1);
  }
  memcpy(folder->target, path, length);
  return BW_OK;
}

enum bw_status bw_folder_open(const char *path, struct bw_folder **out, struct bw_diag *diag) {
  *out = NULL;
  struct bw_folder *folder = bw_alloc(1, sizeof *folder);
  if (folder == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results folder");
  }
  enum bw_status status = set_target(folder, path, diag);
  if (status == BW_OK) {
    status = check_target(folder, diag);
  }
  if (status == BW_OK) {
    status = make_partial(folder, diag);
  }
  if (status != BW_OK) {
    bw_free(folder);
    return status;
  }
  *out = folder;
  return BW_OK;
}

const char *bw_folder_path(const struct bw_folder *folder) {
  return folder->partial;
}

const char *bw_folder_left(const struct bw_folder *folder) {
  return folder->left[0] != '\0' ? folder->left : NULL;
}

enum bw_status bw_folder_create_file(struct bw_folder *folder, const char *name, FILE **stream,
                                     struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  char text[BW_REASON_MAX];
  *stream = NULL;
  if (!bw_path_join(path, folder->partial, name)) {
    return bw_fail_at(diag, BW_E_IO, name, 0, "path is too long; choose a shorter --out");
  }
  /* 'x': two strategies must not share a file */
  *stream = fopen(path, "w+bx");
  if (*stream == NULL) {
    return bw_fail_at(diag, BW_E_IO, folder->target, 0, "cannot create %s (%s); nothing written",
                      name, bw_reason(errno, text));
  }
  return BW_OK;
}

enum bw_status bw_folder_close_file(struct bw_folder *folder, const char *name, FILE *stream,
                                    bool is_written, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  errno = 0;
  const bool is_flushed = fflush(stream) == 0;
  const bool is_sound = ferror(stream) == 0;
  const int error = errno;
  const bool is_closed = fclose(stream) == 0;
  if (is_written && is_flushed && is_sound && is_closed) {
    return BW_OK;
  }
  const int reason = error != 0 ? error : errno;
  return bw_fail_at(diag, BW_E_IO, folder->target, 0,
                    "cannot write %s (%s); nothing written, make room or choose another --out",
                    name, bw_reason(reason, text));
}

/* a file that only some runs write */
static bool is_optional(const char *name) {
  const size_t length = strlen(name);
  return strcmp(name, "comfort.csv") == 0 ||
         (length > 10 && strncmp(name, "trace-", 6) == 0 && strcmp(name + length - 4, ".csv") == 0);
}

/* traces and bounds that the new results no longer hold */
static void remove_stale(const struct bw_folder *folder) {
  DIR *stream = opendir(folder->target);
  if (stream == NULL) {
    return;
  }
  const struct dirent *entry = NULL;
  while ((entry = bw_path_next(stream)) != NULL) {
    char fresh[BW_FILE_PATH_MAX];
    char stale[BW_FILE_PATH_MAX];
    if (is_optional(entry->d_name) && bw_path_join(fresh, folder->partial, entry->d_name) &&
        bw_path_join(stale, folder->target, entry->d_name) && access(fresh, F_OK) != 0) {
      (void)unlink(stale);
    }
  }
  (void)closedir(stream);
}

static bool move_file(const struct bw_folder *folder, const char *name) {
  char from[BW_FILE_PATH_MAX];
  char to[BW_FILE_PATH_MAX];
  return bw_path_join(from, folder->partial, name) && bw_path_join(to, folder->target, name) &&
         rename(from, to) == 0;
}

/* summary.csv comes last: when it is new, all the others are */
static bool move_files(const struct bw_folder *folder) {
  remove_stale(folder);
  DIR *stream = opendir(folder->partial);
  if (stream == NULL) {
    return false;
  }
  bool is_moved = true;
  const struct dirent *entry = NULL;
  while (is_moved && (entry = bw_path_next(stream)) != NULL) {
    if (strcmp(entry->d_name, "summary.csv") != 0) {
      is_moved = move_file(folder, entry->d_name);
    }
  }
  (void)closedir(stream);
  char last[BW_FILE_PATH_MAX]; /* not every verb writes one */
  const bool has_last =
      bw_path_join(last, folder->partial, "summary.csv") && access(last, F_OK) == 0;
  return is_moved && (!has_last || move_file(folder, "summary.csv"));
}

enum bw_status bw_folder_commit(struct bw_folder *folder, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  enum bw_status status = BW_OK;
  errno = 0;
  const bool is_placed =
      folder->is_new ? rename(folder->partial, folder->target) == 0 : move_files(folder);
  if (!is_placed) {
    status = bw_fail_at(diag, BW_E_IO, folder->target, 0,
                        "cannot put the results in place (%s); choose another --out",
                        bw_reason(errno, text));
  }
  if (!is_placed || !folder->is_new) {
    bw_path_remove_folder(folder->partial);
  }
  unlock_folder(folder->held);
  bw_free(folder);
  return status;
}

void bw_folder_abandon(struct bw_folder *folder) {
  if (folder != NULL) {
    bw_path_remove_folder(folder->partial);
    unlock_folder(folder->held);
    bw_free(folder);
  }
}
