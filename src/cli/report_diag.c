/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report_diag.h"

int bw_report_diag(const struct bw_diag *diag, enum bw_status status) {
  const size_t kept = diag->count < BW_DIAG_LINES ? diag->count : BW_DIAG_LINES;
  for (size_t i = 0; i < kept; i++) {
    (void)fprintf(stderr, "%s\n", diag->line[i]);
  }
  if (diag->count > kept) {
    (void)fprintf(stderr, "brakeweave: %zu more faults not shown; mend these first\n",
                  diag->count - kept);
  }
  if (diag->count == 0 && status != BW_OK) {
    (void)fprintf(stderr, "brakeweave: %s\n", bw_status_text(status));
  }
  return bw_status_exit(status);
}

void bw_report_left(const struct bw_folder *folder) {
  const char *left = bw_folder_left(folder);
  if (left != NULL) {
    (void)fprintf(stderr, "%s: was left unfinished by a run that was killed; remove it\n", left);
  }
}
