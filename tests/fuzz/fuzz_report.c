/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A folder of results as sections, read for the report and for the plots. */
#include "fuzz.h"
#include "output/figures.h"
#include "output/report_html.h"
#include "output/trace_thin.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void write_report(const char *folder) {
  char *page = NULL;
  size_t length = 0;
  struct bw_diag diag = {0};
  FILE *stream = open_memstream(&page, &length);
  FUZZ_CHECK(stream != NULL);
  const enum bw_status status = bw_report_write(folder, "0", stream, &diag);
  FUZZ_CHECK(fclose(stream) == 0);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK(status == BW_OK || length == 0);
  FUZZ_CHECK(status != BW_OK || strstr(page, "</html>") != NULL);
  /* texts of the corpus that would run if they were not escaped */
  FUZZ_CHECK(strstr(page, "<img") == NULL && strstr(page, "<script>alert") == NULL);
  free(page);
}

static void thin_trace(const char *folder) {
  char path[FUZZ_PATH];
  char *text = NULL;
  size_t length = 0;
  struct bw_diag diag = {0};
  struct bw_trace_thinning thinning = {
      .columns = "time_s,speed_kmh", .pieces = 3, .from = 1.0, .to = 0.0, .window_pieces = 5};
  FILE *stream = open_memstream(&text, &length);
  FUZZ_CHECK(stream != NULL);
  (void)snprintf(path, sizeof path, "%s/handovers.csv", folder);
  enum bw_status status = bw_trace_thin_window(path, "series", &thinning, &diag);
  fuzz_check_outcome(status, &diag);
  diag = (struct bw_diag){0};
  (void)snprintf(path, sizeof path, "%s/trace-series.csv", folder);
  status = bw_trace_thin(path, &thinning, stream, &diag);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK(fclose(stream) == 0);
  free(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  fuzz_folder_make(&folder);
  fuzz_write_sections(&folder, bytes, size);
  write_report(folder.path);
  thin_trace(folder.path);
  struct bw_figure_plan plan;
  struct bw_diag diag = {0};
  fuzz_check_outcome(bw_figure_plan_make(folder.path, NULL, 0, &plan, &diag), &diag);
  bw_figure_plan_free(&plan);
  fuzz_folder_remove(&folder);
  return 0;
}
