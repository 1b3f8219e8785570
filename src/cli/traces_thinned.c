/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "traces_thinned.h"

#include <dirent.h>
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* stretches of a trace: a pixel of the widest figure each */
enum { STRETCHES = 900 };

bool bw_reads_trace(const struct bw_plot_figure *figure) {
  bool is_found = false;
  for (size_t i = 0; i < BW_FIGURE_NEEDS && figure->need[i].file != NULL; i++) {
    is_found = is_found || strcmp(figure->need[i].file, BW_FIGURE_TRACE) == 0;
  }
  return is_found;
}

static enum bw_status copy_file(const char *folder, const char *name, const char *thinned,
                                struct bw_diag *diag) {
  char bytes[4096];
  char from[BW_FIGURE_PATH_MAX];
  char to[BW_FIGURE_PATH_MAX];
  BW_TRY(bw_figure_path(folder, name, from, diag));
  BW_TRY(bw_figure_path(thinned, name, to, diag));
  FILE *source = fopen(from, "rb");
  if (source == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, from, 0,
                      "cannot be opened; run the case again with this version and --out");
  }
  FILE *copy = fopen(to, "wb");
  bool is_copied = copy != NULL;
  for (size_t count = fread(bytes, 1, sizeof bytes, source); count > 0 && is_copied;
       count = fread(bytes, 1, sizeof bytes, source)) {
    is_copied = fwrite(bytes, 1, count, copy) == count;
  }
  is_copied = ferror(source) == 0 && is_copied;
  (void)fclose(source);
  is_copied = (copy == NULL || fclose(copy) == 0) && is_copied;
  return is_copied
             ? BW_OK
             : bw_fail_at(diag, BW_E_IO, to, 0, "cannot be written; make room for the figures");
}

static enum bw_status thin_trace(const char *folder, const char *strategy, const char *thinned,
                                 struct bw_diag *diag) {
  char name[BW_TRACE_FILE_NAME_MAX];
  char from[BW_FIGURE_PATH_MAX];
  char to[BW_FIGURE_PATH_MAX];
  struct bw_trace_thinning thinning = {
      .columns = bw_figure_trace_columns(), .pieces = STRETCHES, .window_pieces = STRETCHES};
  bw_trace_csv_name(strategy, name);
  BW_TRY(bw_figure_path(folder, "handovers.csv", from, diag));
  BW_TRY(bw_trace_thin_window(from, strategy, &thinning, diag));
  BW_TRY(bw_figure_path(folder, name, from, diag));
  BW_TRY(bw_figure_path(thinned, name, to, diag));
  if (access(to, F_OK) == 0) {
    return BW_OK; /* done for an earlier figure of the plan */
  }
  FILE *stream = fopen(to, "wb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_IO, to, 0, "cannot be made; make room for the figures");
  }
  enum bw_status status = bw_trace_thin(from, &thinning, stream, diag);
  if (fclose(stream) != 0 && status == BW_OK) {
    status = bw_fail_at(diag, BW_E_IO, to, 0, "cannot be written; make room for the figures");
  }
  return status;
}

/* an empty folder, whatever an earlier, killed drawing left there */
static enum bw_status make_folder(const char *target, char thinned[BW_FIGURE_PATH_MAX],
                                  struct bw_diag *diag) {
  char name[64];
  (void)snprintf(name, sizeof name, ".thinned-%ld", (long)getpid());
  BW_TRY(bw_figure_path(target, name, thinned, diag));
  bw_unthin_traces(thinned);
  if (mkdir(thinned, 0777) != 0) {
    thinned[0] = '\0';
    return bw_fail_at(diag, BW_E_IO, target, 0,
                      "cannot be written into; check its permissions and make room");
  }
  return BW_OK;
}

/* what the scripts read beside a trace */
static enum bw_status copy_companions(const char *folder, const char *thinned,
                                      struct bw_diag *diag) {
  static const char *const copied[] = {"summary.csv", "handovers.csv", "resolved.cfg"};
  for (size_t i = 0; i < sizeof copied / sizeof copied[0]; i++) {
    BW_TRY(copy_file(folder, copied[i], thinned, diag));
  }
  return BW_OK;
}

enum bw_status bw_thin_traces(const char *folder, const struct bw_figure_plan *plan,
                              const char *target, char thinned[BW_FIGURE_PATH_MAX],
                              struct bw_diag *diag) {
  thinned[0] = '\0';
  for (size_t i = 0; i < plan->count; i++) {
    if (!bw_reads_trace(plan->item[i].figure)) {
      continue;
    }
    if (thinned[0] == '\0') {
      BW_TRY(make_folder(target, thinned, diag));
      BW_TRY(copy_companions(folder, thinned, diag));
    }
    BW_TRY(thin_trace(folder, plan->item[i].strategy, thinned, diag));
  }
  return BW_OK;
}

void bw_unthin_traces(const char *thinned) {
  char path[BW_FIGURE_PATH_MAX];
  DIR *stream = thinned[0] != '\0' ? opendir(thinned) : NULL;
  if (stream == NULL) {
    return;
  }
  const struct dirent *entry = NULL;
  while ((entry = readdir(stream)) != NULL) { /* NOLINT(concurrency-mt-unsafe) */
    if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 &&
        bw_figure_path(thinned, entry->d_name, path, NULL) == BW_OK) {
      (void)unlink(path);
    }
  }
  (void)closedir(stream);
  (void)rmdir(thinned);
}
