/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_JOB_H
#define BW_SWEEP_JOB_H

#include "brakeweave.h"
#include "controllers.h"
#include "data_dir.h"
#include "ranks.h"
#include "sweep_progress.h"

/** A sweep on its way. */
struct bw_sweep_job {
  const char *case_path;
  char data_dir[BW_DATA_DIR_MAX];
  size_t set_count;
  struct bw_override *sets; /**< (set_count) of --set, owned */
  const struct bw_controllers *controllers;
  struct bw_sweep_plan plan;
  struct bw_csv points; /**< zeroed: none */
  size_t strategy_count;
  const struct bw_blend_strategy **strategies; /**< (strategy_count) all that run, owned */
  size_t runs; /**< per point: all of them, or 1 when the rows of `points` name them */
  struct bw_journal *journal;
  struct bw_sweep_progress progress;
  const char *out;     /**< folder, borrowed */
  enum bw_keep keep;   /**< files kept of each point */
  bool is_part;        /**< sweep.part is to be written */
  struct bw_part part; /**< the points to do */
  size_t workers;
  uint64_t inputs;               /**< bw_sweep_job_inputs() */
  struct bw_case_base *base;     /**< its files, read once for all points, owned */
  struct bw_case *loaded;        /**< the case without the swept keys, owned */
  struct bw_ranks *ranks;        /**< NULL: processes of this machine alone */
  struct bw_journal_state total; /**< of all points, once finished */
};

/** Checksum of everything the rows follow from: program version, case with its overrides, cycle
 *  and tables, files that swept words name, points, strategies and loaded controllers. `loaded` is
 *  the case without the swept keys. */
BW_MUST_CHECK enum bw_status bw_sweep_job_inputs(const struct bw_sweep_job *job,
                                                 const struct bw_case *loaded, uint64_t *sum,
                                                 struct bw_diag *diag);

/** First line of a table with rows per point: its swept keys, then what `put_rest` puts; caller
 *  frees with free(), NULL when there is no memory. */
char *bw_sweep_job_header(const struct bw_sweep_job *job, void (*put_rest)(struct bw_csv_row *row));

/** Read the command line into *job (start from `controllers` alone). Statuses of bad usage and bad
 *  input; nothing is written. */
BW_MUST_CHECK enum bw_status bw_sweep_job_prepare(const struct bw_arguments *arguments,
                                                  struct bw_sweep_job *job, struct bw_diag *diag);

/** Start job->ranks; `prepared` is how this rank's preparation ended. See bw_ranks_start(). */
BW_MUST_CHECK enum bw_status bw_sweep_job_start_ranks(struct bw_sweep_job *job,
                                                      enum bw_status prepared,
                                                      struct bw_diag *diag);

/** Open the journal and the folder of kept files; warns when those will be large. */
BW_MUST_CHECK enum bw_status bw_sweep_job_open(struct bw_sweep_job *job, bool may_resume,
                                               struct bw_diag *diag);

/** Do all points of the part that the journal does not hold. BW_E_INTERRUPTED (with a message)
 *  leaves the journal for --resume, as every other failure does. */
BW_MUST_CHECK enum bw_status bw_sweep_job_run(struct bw_sweep_job *job, struct bw_diag *diag);

/** Put the table in place, and the part's card. */
BW_MUST_CHECK enum bw_status bw_sweep_job_finish(struct bw_sweep_job *job, struct bw_diag *diag);

/** Free all; ranks are ended. */
void bw_sweep_job_free(struct bw_sweep_job *job);

#endif
