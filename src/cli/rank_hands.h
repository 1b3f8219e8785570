/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RANK_HANDS_H
#define BW_RANK_HANDS_H

#include "brakeweave.h"

#include <poll.h>

/** The worker processes of one rank, and the pieces that it has been handed. Knows no MPI. */

/** One at work and one that waits, so that no worker waits for a message. */
enum { BW_PIECES_PER_HAND = 2 };

struct bw_rank_hands {
  struct bw_sweep_crew crew;
  struct bw_sweep_worker *worker; /**< (crew.workers) each with a nurse */
  struct pollfd *watched;         /**< (crew.workers) */
  size_t waiting_count;
  size_t *waiting; /**< (BW_PIECES_PER_HAND crew.workers) pieces not begun yet */
};

/** Fork the workers of `crew`. BW_E_MEMORY. Start from {0}; close it in any case. */
BW_MUST_CHECK enum bw_status bw_rank_hands_open(const struct bw_sweep_crew *crew,
                                                struct bw_rank_hands *out, struct bw_diag *diag);

/** Put a piece behind those that wait; never more than BW_PIECES_PER_HAND per worker. */
void bw_rank_hands_queue(struct bw_rank_hands *hands, size_t index);

/** Hand what waits to idle workers. */
void bw_rank_hands_begin(struct bw_rank_hands *hands);

/** A worker whose answer can be taken, after at most `wait_ms`; NULL: none. */
struct bw_sweep_worker *bw_rank_hands_await(struct bw_rank_hands *hands, int wait_ms);

/** Take its answer. BW_E_MEMORY, also when the worker's nurse is gone, whose place is lost. */
BW_MUST_CHECK enum bw_status bw_rank_hands_take(struct bw_sweep_worker *worker,
                                                struct bw_sweep_answer *answer,
                                                struct bw_diag *diag);

/** End the workers. */
void bw_rank_hands_close(struct bw_rank_hands *hands);

#endif
