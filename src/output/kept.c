/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/kept.h"

#include "output/folder.h"
#include "output/path.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

enum { BLOCK_SIZE = 65536 };

/* bytes; measured on the shipped cases: a row of a trace has about 50 numbers, many of them 0 or
   with few digits; the tables of a WLTC run are mostly events and hand-overs */
#define TRACE_ROW 500.0
#define TABLES    60000.0

static const char *const WORDS[] = {"summary", "events", "traces"};

const char *bw_keep_name(enum bw_keep keep) {
  return WORDS[keep];
}

enum bw_status bw_keep_parse(const char *word, enum bw_keep *out, struct bw_diag *diag) {
  for (size_t i = 0; i < sizeof WORDS / sizeof WORDS[0]; i++) {
    if (strcmp(word, WORDS[i]) == 0) {
      *out = (enum bw_keep)i;
      return BW_OK;
    }
  }
  return bw_fail(diag, BW_E_USAGE, "'%.80s' cannot be kept; give --keep summary, events or traces",
                 word);
}

/* DIR/runs/00000012 for point 11 */
static bool point_path(const char *dir, size_t point, char out[BW_FILE_PATH_MAX]) {
  const int length = snprintf(out, BW_FILE_PATH_MAX, "%s/" BW_KEPT_FOLDER "/%08zu", dir, point + 1);
  return length > 0 && length < BW_FILE_PATH_MAX;
}

/* folders of the name that folder.c gives to what is not finished */
static void remove_partial(const char *runs) {
  DIR *stream = opendir(runs);
  if (stream == NULL) {
    return;
  }
  const struct dirent *entry = NULL;
  while ((entry = bw_path_next(stream)) != NULL) {
    char path[BW_FILE_PATH_MAX];
    if (strstr(entry->d_name, ".partial-") != NULL && bw_path_join(path, runs, entry->d_name)) {
      bw_path_remove_folder(path);
    }
  }
  (void)closedir(stream);
}

enum bw_status bw_kept_prepare(const char *dir, struct bw_diag *diag) {
  char runs[BW_FILE_PATH_MAX];
  errno = 0;
  if (!bw_path_join(runs, dir, BW_KEPT_FOLDER) || (mkdir(runs, 0777) != 0 && errno != EEXIST)) {
    return bw_fail_system(dir, "make the folder " BW_KEPT_FOLDER, diag);
  }
  remove_partial(runs);
  return BW_OK;
}

bool bw_kept_is_there(const char *dir, size_t point) {
  char path[BW_FILE_PATH_MAX];
  char summary[BW_FILE_PATH_MAX];
  return point_path(dir, point, path) && bw_path_join(summary, path, "summary.csv") &&
         access(summary, F_OK) == 0;
}

enum bw_status bw_kept_open(const char *dir, size_t point, struct bw_folder **out,
                            struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  if (!point_path(dir, point, path)) {
    *out = NULL;
    return bw_fail_at(diag, BW_E_USAGE, dir, 0, "path is too long; choose a shorter --out");
  }
  return bw_folder_open(path, out, diag);
}

double bw_kept_estimate(const struct bw_case *loaded, enum bw_keep keep, double points,
                        double runs) {
  if (keep == BW_KEEP_SUMMARY) {
    return 0.0;
  }
  const double rows = bw_trace_duration(&loaded->trace) / loaded->trace_period;
  return points * runs * (TABLES + (keep == BW_KEEP_TRACES ? rows * TRACE_ROW : 0.0));
}

double bw_kept_free(const char *dir) {
  struct statvfs info;
  return statvfs(dir, &info) == 0 ? (double)info.f_bavail * (double)info.f_frsize : -1.0;
}

static bool copy_file(const char *from, const char *to) {
  unsigned char block[BLOCK_SIZE];
  FILE *source = fopen(from, "rb");
  FILE *target = source != NULL ? fopen(to, "wb") : NULL;
  bool is_sound = target != NULL;
  size_t got = 0;
  while (is_sound && (got = fread(block, 1, sizeof block, source)) > 0) {
    is_sound = fwrite(block, 1, got, target) == got;
  }
  is_sound = is_sound && ferror(source) == 0;
  if (target != NULL) {
    is_sound = fclose(target) == 0 && is_sound;
  }
  if (source != NULL) {
    (void)fclose(source);
  }
  return is_sound;
}

/* link or copy all files of one folder */
static bool gather_folder(const char *from, const char *to) {
  DIR *stream = mkdir(to, 0777) == 0 ? opendir(from) : NULL;
  if (stream == NULL) {
    return false;
  }
  bool is_sound = true;
  const struct dirent *entry = NULL;
  while (is_sound && (entry = bw_path_next(stream)) != NULL) {
    char source[BW_FILE_PATH_MAX];
    char target[BW_FILE_PATH_MAX];
    is_sound = bw_path_join(source, from, entry->d_name) &&
               bw_path_join(target, to, entry->d_name) &&
               (link(source, target) == 0 || copy_file(source, target));
  }
  (void)closedir(stream);
  return is_sound;
}

enum bw_status bw_kept_gather(const char *from, const char *to, size_t first, size_t end,
                              struct bw_diag *diag) {
  BW_TRY(bw_kept_prepare(to, diag));
  for (size_t point = first; point < end; point++) {
    char source[BW_FILE_PATH_MAX];
    char target[BW_FILE_PATH_MAX];
    errno = 0;
    if (point_path(from, point, source) && access(source, F_OK) != 0 && errno == ENOENT) {
      continue; /* a point that could not be loaded */
    }
    if (!point_path(from, point, source) || !point_path(to, point, target) ||
        !gather_folder(source, target)) {
      return bw_fail_system(to, "put the kept files of the parts into " BW_KEPT_FOLDER, diag);
    }
  }
  return BW_OK;
}

void bw_kept_discard(const char *dir) {
  char runs[BW_FILE_PATH_MAX];
  DIR *stream = bw_path_join(runs, dir, BW_KEPT_FOLDER) ? opendir(runs) : NULL;
  if (stream == NULL) {
    return;
  }
  const struct dirent *entry = NULL;
  while ((entry = bw_path_next(stream)) != NULL) {
    char path[BW_FILE_PATH_MAX];
    if (bw_path_join(path, runs, entry->d_name)) {
      bw_path_remove_folder(path);
    }
  }
  (void)closedir(stream);
  (void)rmdir(runs);
}
