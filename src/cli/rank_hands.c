/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rank_hands.h"

#include <string.h>

enum bw_status bw_rank_hands_open(const struct bw_sweep_crew *crew, struct bw_rank_hands *out,
                                  struct bw_diag *diag) {
  const size_t count = crew->workers;
  *out = (struct bw_rank_hands){.crew = *crew};
  out->worker = bw_alloc(count, sizeof *out->worker);
  out->watched = bw_alloc(count, sizeof *out->watched);
  out->waiting = bw_alloc(BW_PIECES_PER_HAND * count, sizeof *out->waiting);
  if (out->worker == NULL || out->watched == NULL || out->waiting == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the worker processes");
  }
  for (size_t i = 0; i < count; i++) {
    BW_TRY(bw_sweep_worker_nurse(&out->crew, out->worker, count, &out->worker[i], diag));
  }
  return BW_OK;
}

void bw_rank_hands_queue(struct bw_rank_hands *hands, size_t index) {
  BW_ASSERT(hands->waiting_count < BW_PIECES_PER_HAND * hands->crew.workers);
  hands->waiting[hands->waiting_count++] = index;
}

void bw_rank_hands_begin(struct bw_rank_hands *hands) {
  for (size_t i = 0; i < hands->crew.workers && hands->waiting_count > 0; i++) {
    struct bw_sweep_worker *worker = &hands->worker[i];
    if (worker->pid != 0 && !worker->is_busy) {
      bw_sweep_worker_give(&hands->crew, worker, hands->waiting[0]);
      hands->waiting_count--;
      memmove(hands->waiting, hands->waiting + 1, hands->waiting_count * sizeof *hands->waiting);
    }
  }
}

struct bw_sweep_worker *bw_rank_hands_await(struct bw_rank_hands *hands, int wait_ms) {
  const size_t count = hands->crew.workers;
  for (size_t i = 0; i < count; i++) {
    const struct bw_sweep_worker *worker = &hands->worker[i];
    const bool is_busy = worker->pid != 0 && worker->is_busy;
    hands->watched[i] = (struct pollfd){.fd = is_busy ? worker->line : -1, .events = POLLIN};
  }
  if (poll(hands->watched, (nfds_t)count, wait_ms) <= 0) {
    return NULL;
  }
  for (size_t i = 0; i < count; i++) {
    if (hands->watched[i].fd >= 0 && hands->watched[i].revents != 0) {
      return &hands->worker[i];
    }
  }
  return NULL;
}

enum bw_status bw_rank_hands_take(struct bw_sweep_worker *worker, struct bw_sweep_answer *answer,
                                  struct bw_diag *diag) {
  BW_TRY(bw_sweep_worker_take(worker, answer, diag));
  if (worker->pid == 0) {
    return bw_fail(diag, BW_E_MEMORY,
                   "the process that keeps the workers of a rank was ended; go on with --resume");
  }
  return BW_OK;
}

void bw_rank_hands_close(struct bw_rank_hands *hands) {
  for (size_t i = 0; hands->worker != NULL && i < hands->crew.workers; i++) {
    bw_sweep_worker_end(&hands->worker[i]);
  }
  bw_free(hands->worker);
  bw_free(hands->watched);
  bw_free(hands->waiting);
  *hands = (struct bw_rank_hands){0};
}
