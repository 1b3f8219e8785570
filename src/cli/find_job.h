/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FIND_JOB_H
#define BW_FIND_JOB_H

#include "options.h"
#include "sweep_job.h"

/** A sweep that looks, at every point of its grid and for every strategy, for the first point along
 *  one more axis at which a condition holds. */
struct bw_find_job {
  struct bw_sweep_job *sweep; /**< its plan is the grid without the axis */
  const char *find;           /**< the condition as typed */
  struct bw_condition condition;
  struct bw_sweep_plan axis; /**< of one key */
  size_t count;
  double *value; /**< (count) of the scan, owned */
  double within;
};

/** True when --find is given, and when a --over setting is the axis of --along. */
bool bw_find_is_wanted(const struct bw_arguments *arguments);
bool bw_find_is_axis(const struct bw_arguments *arguments, const struct bw_setting *setting);

/** Read --find, --along, --within and the axis. BW_E_USAGE. Free with bw_find_job_free() in any
 *  case; start from {.sweep = ...}. */
BW_MUST_CHECK enum bw_status bw_find_job_read(struct bw_find_job *job,
                                              const struct bw_arguments *arguments,
                                              const struct bw_case *loaded, struct bw_diag *diag);

/** Start the ranks, see bw_sweep_job_start_ranks(). */
BW_MUST_CHECK enum bw_status bw_find_job_start_ranks(struct bw_find_job *job,
                                                     enum bw_status prepared, struct bw_diag *diag);

/** Open the journal. */
BW_MUST_CHECK enum bw_status bw_find_job_open(struct bw_find_job *job, bool may_resume,
                                              struct bw_diag *diag);

/** Searches of the part: a strategy at a point of the grid each; the journal counts them as points.
 */
size_t bw_find_job_searches(const struct bw_find_job *job);

/** Do all searches that the journal does not hold. Statuses as bw_sweep_job_run(). */
BW_MUST_CHECK enum bw_status bw_find_job_run(struct bw_find_job *job, struct bw_diag *diag);

/** Put find.csv in place, and the part's card, print the table for people, and fill sweep->total.
 */
BW_MUST_CHECK enum bw_status bw_find_job_finish(struct bw_find_job *job, FILE *stream,
                                                struct bw_diag *diag);

void bw_find_job_free(struct bw_find_job *job);

#endif
