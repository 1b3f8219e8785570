/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WATCH_RUN_H
#define BW_WATCH_RUN_H

#include "batch/assess.h"

/** A run that one light observer watches, of a built-in strategy here or of a loaded controller in
 *  a child process. */
struct bw_watch {
  void
      *state; /**< plain bytes without pointers to what it changes: they travel between processes */
  size_t size;                  /**< of *state */
  const struct bw_case *loaded; /**< the case that runs, for `look` */
  /** Called once per control period; false: seen enough, the run ends well. */
  bool (*look)(const struct bw_case *loaded, void *state, const struct bw_sample *sample);
};

/** Run watch->loaded with the job's strategy. Statuses as bw_run() and bw_plugin_run(). */
BW_MUST_CHECK enum bw_status bw_watch_run(const struct bw_assess_job *job,
                                          const struct bw_watch *watch, struct bw_diag *diag);

/** bw_evaluate() of the job's strategy on `driven`, contained for a loaded controller. */
BW_MUST_CHECK enum bw_status bw_assess_evaluate(const struct bw_assess_job *job,
                                                const struct bw_case *driven,
                                                struct bw_evaluation *out, struct bw_diag *diag);

/** Figures of one stop. */
struct bw_stop_found {
  bool is_at_rest;
  double distance;      /**< m from the start of the run, where the pedal begins to move */
  double mfdd;          /**< m/s2 */
  double grip_exceeded; /**< s in which an axle asked for more grip than there is */
};

/** Run a stop; statuses as bw_assess_evaluate(). */
BW_MUST_CHECK enum bw_status bw_assess_stop(const struct bw_assess_job *job,
                                            const struct bw_case *stop, struct bw_stop_found *found,
                                            struct bw_diag *diag);

/** A copy of a case to be changed: rolling wheels, no fault, no trace of its own, everything else
 *  borrowed from `loaded`. NULL without memory. Free with bw_assess_case_free(). */
struct bw_case *bw_assess_case(const struct bw_case *loaded, enum bw_load_state load,
                               enum bw_stop_charge charge);

/** Give the copy a demand that rises to `demand` (m/s2 of the brakes) within `build` s, from
 *  `speed` (m/s) on a level road, for at most `duration` s. */
BW_MUST_CHECK enum bw_status bw_assess_case_stop(struct bw_case *copy, double speed, double demand,
                                                 double build, double duration,
                                                 struct bw_diag *diag);

void bw_assess_case_free(struct bw_case *copy);

/** The row of `requirement` that the job's strategy has already, sound and connected; NULL if there
 *  is none. */
const struct bw_assess_row *bw_assess_row_of(const struct bw_assessment *assessment,
                                             const struct bw_assess_job *job,
                                             enum bw_requirement_id requirement,
                                             enum bw_load_state load, enum bw_stop_charge charge);

/** True for the statuses that end an assessment; others become the note of a row. */
bool bw_assess_is_fatal(enum bw_status status);

/** Put why a run failed into the note of `row`. */
void bw_assess_note(struct bw_assess_row *row, enum bw_status status, const struct bw_diag *diag);

#endif
