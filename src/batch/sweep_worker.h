/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_WORKER_H
#define BW_SWEEP_WORKER_H

#include "batch/sweep_run.h"

#include <stdint.h>
#include <sys/types.h>

/** One process of a sweep that does pieces, seen from the process that hands them out.
 *
 *  Index and answer go over a pair of sockets. A worker is forked from a process with one thread;
 *  it dies with that process. */

enum { BW_SWEEP_LOST_MAX = 128 /**< bytes of the reason why a piece is lost, with its end */ };

struct bw_sweep_worker {
  pid_t pid; /**< 0: none */
  int line;  /**< both ways */
  bool is_busy;
  size_t index;  /**< the piece it is at */
  double due;    /**< s on the monotonic clock; only while busy and with a deadline */
  bool is_nurse; /**< keeps a worker of its own, see bw_sweep_worker_nurse() */
};

/** What came of a piece. Start from {0}; free the parcel. */
struct bw_sweep_answer {
  bool is_lost;
  char lost[BW_SWEEP_LOST_MAX]; /**< why */
  struct bw_parcel parcel;
};

/** Fork a worker that does pieces of `crew` until it is ended. `others` (count) are the workers
 *  that exist already: it lets go of their lines. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_sweep_worker_start(const struct bw_sweep_crew *crew,
                                                   const struct bw_sweep_worker *others,
                                                   size_t count, struct bw_sweep_worker *out,
                                                   struct bw_diag *diag);

/** The same with a process in between that starts a new worker when one has died. For a parent
 *  that must not fork later because it will have threads. Its answers say what was lost. */
BW_MUST_CHECK enum bw_status bw_sweep_worker_nurse(const struct bw_sweep_crew *crew,
                                                   const struct bw_sweep_worker *others,
                                                   size_t count, struct bw_sweep_worker *out,
                                                   struct bw_diag *diag);

/** Hand piece `index` to an idle worker. A worker that is dead already shows when its answer is
 *  taken. */
void bw_sweep_worker_give(const struct bw_sweep_crew *crew, struct bw_sweep_worker *worker,
                          size_t index);

/** Take the answer of a busy worker whose line is readable. A dead worker is buried and its piece
 *  lost; worker->pid is 0 then. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_sweep_worker_take(struct bw_sweep_worker *worker,
                                                  struct bw_sweep_answer *answer,
                                                  struct bw_diag *diag);

/** True when a busy worker is past its deadline. */
bool bw_sweep_worker_is_late(const struct bw_sweep_worker *worker);

/** Kill a worker that is late; its piece is lost. */
void bw_sweep_worker_give_up(const struct bw_sweep_crew *crew, struct bw_sweep_worker *worker,
                             struct bw_sweep_answer *answer);

/** Kill a worker, if there is one. */
void bw_sweep_worker_end(struct bw_sweep_worker *worker);

#endif
