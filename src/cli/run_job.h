/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RUN_JOB_H
#define BW_RUN_JOB_H

#include "brakeweave.h"
#include "controllers.h"
#include "progress.h"

/** One comparison on its way: every chosen strategy on one case, results kept, files written. */
struct bw_run_job {
  const struct bw_case *loaded;
  const struct bw_controllers *controllers; /**< borrowed */
  size_t count;
  const struct bw_blend_strategy **strategies; /**< (count) owned */
  struct bw_result *results;                   /**< (count) owned */
  size_t done;                                 /**< results that are filled */
  struct bw_comfort *comfort; /**< (count) NULL: no bounds asked for; shared with children, owned */
  struct bw_folder *folder;   /**< NULL: no files; owned until committed */
  bool has_trace;             /**< write trace-STRATEGY.csv into the folder */
  bool is_verbose;
  struct bw_progress progress;
};

/** Run all strategies. A strategy that fails numerically and a loaded controller that crashes,
 * loops or asks for the impossible become a failed row and the others go on; trouble that concerns
 * all of them (disk, memory, interrupt) ends the job. */
BW_MUST_CHECK enum bw_status bw_run_job_evaluate(struct bw_run_job *job, struct bw_diag *diag);

/** Write summary, events, hand-overs, ledger and resolved case into the folder and put it in
 *  place. */
BW_MUST_CHECK enum bw_status bw_run_job_write(struct bw_run_job *job, struct bw_diag *diag);

/** Exit status that the results call for: a failed strategy's, else 1 when an acceptance limit
 *  was missed, else 0. */
int bw_run_job_exit(const struct bw_run_job *job);

/** Free results and lists; an uncommitted folder is removed. */
void bw_run_job_free(struct bw_run_job *job);

#endif
