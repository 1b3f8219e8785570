/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_JOB_H
#define BW_FAULT_JOB_H

#include "controllers.h"
#include "fault_axes.h"
#include "progress.h"

enum { BW_FAULT_WORD_SIZE = 32 };

/** A fault study at work. A cell is a piece of work; workers keep the case and the sound car of
 *  the condition they are at, so neighbours in the list share them. */
struct bw_fault_job {
  const char *case_path;
  const char *data_dir;
  const struct bw_controllers *controllers;
  const struct bw_blend_strategy *strategy;
  bool is_usual_strategy; /**< not named on the command line */
  size_t set_count;
  struct bw_override *sets;   /**< (set_count) of --set, owned */
  struct bw_case_base *files; /**< case and --set, read once for all conditions, owned */
  struct bw_fault_axes axes;  /**< owned */
  size_t kind_count;
  enum bw_fault_kind kind[BW_FAULT_KIND_COUNT];
  char word[BW_FAULT_KIND_COUNT][BW_FAULT_WORD_SIZE]; /**< of fault.kind, by kind */
  size_t decelerations;
  struct bw_fault_aim aim;
  struct bw_progress progress;
  size_t count;
  size_t done;
  struct bw_fault_cell *cells; /**< (count) owned, in order of condition and kind */
  /* of one worker process */
  size_t condition; /**< that `loaded` has, plus one; 0: none */
  struct bw_case *loaded;
  struct bw_fault_base base;
  enum bw_status base_status;
  struct bw_diag base_diag;
};

/** Read the files of the case, once, with --set. Statuses and messages of bw_case_load_with(). */
BW_MUST_CHECK enum bw_status bw_fault_job_read(struct bw_fault_job *job, struct bw_diag *diag);

/** The case under one condition; `more` is a further KEY=VALUE (NULL: none) that a condition's own
 *  value wins over. Free *out with bw_case_destroy(). */
BW_MUST_CHECK enum bw_status bw_fault_job_load(const struct bw_fault_job *job, size_t condition,
                                               const char *more, struct bw_case **out,
                                               struct bw_diag *diag);

/** Make the cells and do them in `workers` processes. A cell that cannot be run says why; memory,
 *  reading or writing, and an interrupt end the study. */
BW_MUST_CHECK enum bw_status bw_fault_job_run(struct bw_fault_job *job, size_t workers,
                                              struct bw_diag *diag);

void bw_fault_job_free(struct bw_fault_job *job);

#endif
