/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/sweep_folder.h"

#include "output/kept.h"
#include "output/path.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

static bool is_ours(const char *name) {
  static const char *const names[] = {BW_KEPT_FOLDER,
                                      "figures",
                                      "sweep.csv",
                                      "sweep.csv.partial",
                                      "sweep.journal",
                                      "sweep.done",
                                      "sweep.done.partial",
                                      "sweep.part",
                                      "sweep.part.partial",
                                      "sweep.columns",
                                      "sweep-statistics.csv",
                                      "sweep-statistics.csv.partial",
                                      "sweep-resolved.cfg",
                                      ".partial-sweep-resolved.cfg",
                                      "find.csv",
                                      "find.csv.partial",
                                      "find.journal",
                                      "find.done",
                                      "find.done.partial",
                                      "find.part",
                                      "find.part.partial",
                                      "find-resolved.cfg",
                                      ".partial-find-resolved.cfg"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    if (strcmp(name, names[i]) == 0) {
      return true;
    }
  }
  return false;
}

enum bw_status bw_sweep_folder_claim(const char *path, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  if (mkdir(path, 0777) == 0) {
    return BW_OK;
  }
  DIR *stream = errno == EEXIST ? opendir(path) : NULL;
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_USAGE, path, 0,
                      "cannot be used as results folder (%s); choose another --out",
                      bw_reason(errno, text));
  }
  bool is_foreign = false;
  const struct dirent *entry = NULL;
  while ((entry = bw_path_next(stream)) != NULL) {
    is_foreign = is_foreign || !is_ours(entry->d_name);
  }
  (void)closedir(stream);
  if (is_foreign) {
    return bw_fail_at(diag, BW_E_USAGE, path, 0,
                      "folder holds files that are no sweep; name a new or empty folder");
  }
  return BW_OK;
}
