/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/sweep_worker.h"

#include "alloc.h"
#include "batch/wire.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

enum { POLL_MS = 100, PARCEL_MAX = 1 << 28 };

/* in front of the bytes of an answer */
struct head {
  uint64_t size;
  uint64_t has_failed;
  uint64_t is_lost; /* the bytes are the reason */
};

static bool receive_all(int line, void *bytes, size_t size) {
  unsigned char *to = bytes;
  while (size > 0) {
    const ssize_t got = recv(line, to, size, 0);
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got <= 0) {
      return false;
    }
    to += got;
    size -= (size_t)got;
  }
  return true;
}

static bool send_answer(int line, const struct bw_sweep_answer *answer) {
  struct head head = {answer->parcel.size, 0, 0};
  const void *bytes = answer->parcel.bytes;
  if (answer->is_lost) {
    head = (struct head){strlen(answer->lost), 0, 1};
    bytes = answer->lost;
  } else if (answer->parcel.has_failed) {
    head = (struct head){0, 1, 0};
  }
  return bw_wire_send(line, &head, sizeof head) && bw_wire_send(line, bytes, (size_t)head.size);
}

static void be_worker(const struct bw_sweep_crew *crew, int line, pid_t parent) {
  size_t index = 0;
  while (getppid() == parent && receive_all(line, &index, sizeof index)) {
    struct bw_sweep_answer answer = {0};
    crew->work(crew->context, index, &answer.parcel);
    if (!send_answer(line, &answer)) {
      break;
    }
    bw_parcel_free(&answer.parcel);
  }
}

/* wait for the answer of one's worker until it is late */
static enum bw_status await(const struct bw_sweep_crew *crew, struct bw_sweep_worker *worker,
                            struct bw_sweep_answer *answer) {
  struct pollfd watched = {.fd = worker->line, .events = POLLIN};
  while (poll(&watched, 1, POLL_MS) <= 0) {
    if (bw_sweep_worker_is_late(worker)) {
      bw_sweep_worker_give_up(crew, worker, answer);
      return BW_OK;
    }
  }
  return bw_sweep_worker_take(worker, answer, NULL);
}

/* a nurse's own worker is no nurse, and each has a process of its own: this ends */
/* NOLINTBEGIN(misc-no-recursion) */
static void be_nurse(const struct bw_sweep_crew *crew, int line, pid_t parent) {
  struct bw_sweep_worker own = {0};
  const struct bw_sweep_worker above = {.pid = parent, .line = line};
  size_t index = 0;
  while (getppid() == parent && receive_all(line, &index, sizeof index)) {
    struct bw_sweep_answer answer = {0};
    enum bw_status status = BW_OK;
    if (own.pid == 0) {
      status = bw_sweep_worker_start(crew, &above, 1, &own, NULL);
    }
    if (status == BW_OK) {
      bw_sweep_worker_give(crew, &own, index);
      status = await(crew, &own, &answer);
    }
    answer.parcel.has_failed = answer.parcel.has_failed || status != BW_OK;
    if (!send_answer(line, &answer)) {
      break;
    }
    bw_parcel_free(&answer.parcel);
  }
  bw_sweep_worker_end(&own);
}

static _Noreturn void be_child(const struct bw_sweep_crew *crew, bool is_nurse,
                               const struct bw_wire *wire) {
  if (is_nurse) {
    be_nurse(crew, wire->line, wire->parent);
  } else {
    be_worker(crew, wire->line, wire->parent);
  }
  _exit(0);
}

static enum bw_status start(const struct bw_sweep_crew *crew, const struct bw_sweep_worker *others,
                            size_t count, struct bw_sweep_worker *out, struct bw_diag *diag) {
  struct bw_wire wire;
  BW_TRY(bw_wire_fork("a worker process", "use fewer --jobs", &wire, diag));
  if (wire.pid == 0) {
    for (size_t i = 0; i < count; i++) {
      if (others[i].pid != 0) {
        (void)close(others[i].line);
      }
    }
    be_child(crew, out->is_nurse, &wire);
  }
  *out = (struct bw_sweep_worker){.pid = wire.pid, .line = wire.line, .is_nurse = out->is_nurse};
  return BW_OK;
}

enum bw_status bw_sweep_worker_start(const struct bw_sweep_crew *crew,
                                     const struct bw_sweep_worker *others, size_t count,
                                     struct bw_sweep_worker *out, struct bw_diag *diag) {
  out->is_nurse = false;
  return start(crew, others, count, out, diag);
}

/* NOLINTEND(misc-no-recursion) */

enum bw_status bw_sweep_worker_nurse(const struct bw_sweep_crew *crew,
                                     const struct bw_sweep_worker *others, size_t count,
                                     struct bw_sweep_worker *out, struct bw_diag *diag) {
  out->is_nurse = true;
  return start(crew, others, count, out, diag);
}

/* bury a worker that ends or is killed; gives its wait state */
static int bury(struct bw_sweep_worker *worker, bool must_kill) {
  int state = 0;
  if (must_kill) {
    (void)kill(worker->pid, SIGKILL);
  }
  while (waitpid(worker->pid, &state, 0) < 0 && errno == EINTR) {
  }
  (void)close(worker->line);
  *worker = (struct bw_sweep_worker){0};
  return state;
}

void bw_sweep_worker_give(const struct bw_sweep_crew *crew, struct bw_sweep_worker *worker,
                          size_t index) {
  BW_ASSERT(!worker->is_busy);
  worker->index = index;
  worker->is_busy = true;
  worker->due = crew->deadline > 0.0 ? bw_wire_clock() + crew->deadline : 0.0;
  (void)bw_wire_send(worker->line, &index, sizeof index);
}

static void lose(struct bw_sweep_worker *worker, struct bw_sweep_answer *answer) {
  const int state = bury(worker, false);
  answer->is_lost = true;
  if (WIFSIGNALED(state)) {
    (void)snprintf(answer->lost, BW_SWEEP_LOST_MAX, "its worker process was ended by signal %d",
                   WTERMSIG(state));
  } else {
    (void)snprintf(answer->lost, BW_SWEEP_LOST_MAX,
                   "its worker process ended itself with status %d", WEXITSTATUS(state));
  }
}

enum bw_status bw_sweep_worker_take(struct bw_sweep_worker *worker, struct bw_sweep_answer *answer,
                                    struct bw_diag *diag) {
  struct head head;
  *answer = (struct bw_sweep_answer){0};
  if (!receive_all(worker->line, &head, sizeof head)) {
    lose(worker, answer);
    return BW_OK;
  }
  const bool fits = head.is_lost != 0 ? head.size < BW_SWEEP_LOST_MAX : head.size <= PARCEL_MAX;
  unsigned char *bytes = NULL;
  if (head.has_failed == 0 && fits) {
    bytes = bw_alloc((size_t)head.size + 1, 1);
  }
  if (bytes == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results of a worker process");
  }
  if (!receive_all(worker->line, bytes, (size_t)head.size)) {
    bw_free(bytes);
    lose(worker, answer);
    return BW_OK;
  }
  worker->is_busy = false;
  answer->is_lost = head.is_lost != 0;
  if (answer->is_lost) {
    memcpy(answer->lost, bytes, (size_t)head.size + 1);
    bw_free(bytes);
  } else {
    answer->parcel = (struct bw_parcel){
        .bytes = bytes, .room = (size_t)head.size + 1, .size = (size_t)head.size};
  }
  return BW_OK;
}

bool bw_sweep_worker_is_late(const struct bw_sweep_worker *worker) {
  return worker->is_busy && worker->due > 0.0 && bw_wire_clock() > worker->due;
}

void bw_sweep_worker_give_up(const struct bw_sweep_crew *crew, struct bw_sweep_worker *worker,
                             struct bw_sweep_answer *answer) {
  (void)bury(worker, true);
  *answer = (struct bw_sweep_answer){.is_lost = true};
  (void)snprintf(answer->lost, BW_SWEEP_LOST_MAX,
                 "not done after %g s and ended; check the point or give a longer --deadline",
                 crew->deadline);
}

void bw_sweep_worker_end(struct bw_sweep_worker *worker) {
  if (worker->pid != 0) {
    (void)bury(worker, true);
  }
}
