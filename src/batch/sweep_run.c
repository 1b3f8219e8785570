/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/sweep_run.h"

#include "alloc.h"
#include "batch/sweep_window.h"

#include <errno.h>
#include <poll.h>

enum { POLL_MS = 100 };

struct hall {
  const struct bw_sweep_crew *crew;
  struct bw_sweep_window window;
  struct bw_sweep_worker *worker; /* (crew->workers) */
  struct pollfd *watched;         /* (crew->workers) */
  struct bw_diag *diag;
};

static enum bw_status hand_out(struct hall *hall) {
  const size_t count = hall->crew->workers;
  for (size_t i = 0; i < count && bw_sweep_window_has_room(&hall->window); i++) {
    struct bw_sweep_worker *worker = &hall->worker[i];
    if (worker->is_busy) {
      continue;
    }
    if (worker->pid == 0) {
      BW_TRY(bw_sweep_worker_start(hall->crew, hall->worker, count, worker, hall->diag));
    }
    bw_sweep_worker_give(hall->crew, worker, hall->window.next++);
  }
  return BW_OK;
}

static enum bw_status receive(struct hall *hall, struct bw_sweep_worker *worker, bool is_readable) {
  struct bw_sweep_answer answer;
  const size_t index = worker->index;
  if (is_readable) {
    BW_TRY(bw_sweep_worker_take(worker, &answer, hall->diag));
  } else {
    bw_sweep_worker_give_up(hall->crew, worker, &answer);
  }
  bw_sweep_window_put(&hall->window, index, &answer);
  return BW_OK;
}

static enum bw_status receive_ready(struct hall *hall) {
  const size_t count = hall->crew->workers;
  for (size_t i = 0; i < count; i++) {
    hall->watched[i] = (struct pollfd){.fd = hall->worker[i].is_busy ? hall->worker[i].line : -1,
                                       .events = POLLIN};
  }
  if (poll(hall->watched, (nfds_t)count, POLL_MS) < 0) {
    return errno == EINTR
               ? BW_OK /* a signal */
               : bw_fail(hall->diag, BW_E_MEMORY,
                         "cannot watch %zu worker processes at once; give fewer --jobs", count);
  }
  for (size_t i = 0; i < count; i++) {
    const bool is_readable = hall->watched[i].fd >= 0 && hall->watched[i].revents != 0;
    if (is_readable || bw_sweep_worker_is_late(&hall->worker[i])) {
      BW_TRY(receive(hall, &hall->worker[i], is_readable));
    }
  }
  return BW_OK;
}

static enum bw_status go(struct hall *hall) {
  const struct bw_sweep_crew *crew = hall->crew;
  while (!bw_sweep_window_is_done(&hall->window)) {
    if (crew->is_cancelled != NULL && crew->is_cancelled()) {
      return BW_E_INTERRUPTED;
    }
    if (crew->tick != NULL) {
      crew->tick(crew->context);
    }
    BW_TRY(hand_out(hall));
    BW_TRY(receive_ready(hall));
    BW_TRY(bw_sweep_window_pass(&hall->window, hall->diag));
  }
  return BW_OK;
}

enum bw_status bw_sweep_run(const struct bw_sweep_crew *crew, struct bw_diag *diag) {
  BW_ASSERT(crew->workers > 0);
  struct hall hall = {.crew = crew, .diag = diag};
  hall.worker = bw_alloc(crew->workers, sizeof *hall.worker);
  hall.watched = bw_alloc(crew->workers, sizeof *hall.watched);
  enum bw_status status = BW_OK;
  if (hall.worker == NULL || hall.watched == NULL) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for the worker processes");
  }
  if (status == BW_OK) {
    status = bw_sweep_window_open(crew, crew->workers, &hall.window, diag);
  }
  if (status == BW_OK) {
    status = go(&hall);
  }
  for (size_t i = 0; hall.worker != NULL && i < crew->workers; i++) {
    bw_sweep_worker_end(&hall.worker[i]);
  }
  bw_sweep_window_close(&hall.window);
  bw_free(hall.worker);
  bw_free(hall.watched);
  return status;
}
