/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_JOB_H
#define BW_SWEEP_JOB_H

#include "brakeweave.h"
#include "controllers.h"
#include "sweep_progress.h"

/** A sweep on its way. */
struct bw_sweep_job {
  const char *case_path;
  const char *data_dir;
  size_t set_count;
  const char **sets; /**< (set_count) --set texts, owned */
  const struct bw_controllers *controllers;
  struct bw_sweep_plan plan;
  struct bw_csv points; /**< zeroed: none */
  size_t strategy_count;
  const struct bw_blend_strategy **strategies; /**< (strategy_count) owned */
  struct bw_journal *journal;
  struct bw_sweep_progress progress;
};

/** Checksum of everything the rows follow from: program version, case with its overrides, cycle
 *  and tables, files that swept words name, points, strategies and loaded controllers. `loaded` is
 *  the case without the swept keys. */
BW_MUST_CHECK enum bw_status bw_sweep_job_inputs(const struct bw_sweep_job *job,
                                                 const struct bw_case *loaded, uint64_t *sum,
                                                 struct bw_diag *diag);

/** First line of sweep.csv; caller frees with free(), NULL when there is no memory. */
char *bw_sweep_job_header(const struct bw_sweep_job *job);

/** Do all points that the journal does not hold, in `workers` processes. BW_E_INTERRUPTED (with a
 *  message) leaves the journal for --resume, as every other failure does. */
BW_MUST_CHECK enum bw_status bw_sweep_job_run(struct bw_sweep_job *job, size_t workers,
                                              struct bw_diag *diag);

void bw_sweep_job_free(struct bw_sweep_job *job);

#endif
