/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_POINT_H
#define BW_SWEEP_POINT_H

#include "sweep_job.h"

/** What one point of a sweep gives. */
struct bw_sweep_rows {
  struct bw_journal_state one; /**< the point and its runs */
  char *bytes;                 /**< (size) its rows as they stand in sweep.csv, owned */
  size_t size;
};

/** The case at `point`, made of what was read once for all points; `more` is a further KEY=VALUE
 *  (NULL: none) that wins. Free *out with bw_case_destroy(). */
BW_MUST_CHECK enum bw_status bw_sweep_point_load(const struct bw_sweep_job *job, size_t point,
                                                 const char *more, struct bw_case **out,
                                                 struct bw_diag *diag);

/** The values of a point that start its rows. */
void bw_sweep_point_put(const struct bw_sweep_plan *plan, size_t point, struct bw_csv_row *row);

/** Load `point`, run its strategies and keep the files that are asked for. A run that fails is a
 *  row with its reason; what concerns the whole sweep (disk, memory) is a status with a message.
 *  Free *out in any case. */
BW_MUST_CHECK enum bw_status bw_sweep_point_run(const struct bw_sweep_job *job, size_t point,
                                                struct bw_sweep_rows *out, struct bw_diag *diag);

/** The rows of a point whose worker died; `lost` says how. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_sweep_point_lose(const struct bw_sweep_job *job, size_t point,
                                                 const char *lost, struct bw_sweep_rows *out);

void bw_sweep_rows_free(struct bw_sweep_rows *rows);

#endif
