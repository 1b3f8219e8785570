/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/sweep_run.h"

#include "alloc.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

enum { POLL_MS = 100, PLACES_PER_WORKER = 8, LOST_MAX = 96, PARCEL_MAX = 1 << 28 };

struct head {
  uint64_t size;
  uint64_t has_failed;
};

struct worker {
  pid_t pid; /* 0: none */
  int line;  /* both ways */
  bool is_busy;
  size_t index; /* the piece it is at */
};

/* where a result waits for its turn */
struct place {
  bool is_filled;
  bool is_lost;
  char lost[LOST_MAX];
  struct bw_parcel parcel;
};

struct crew {
  const struct bw_sweep_crew *job;
  size_t next;  /* piece to hand out */
  size_t taken; /* pieces before it are taken */
  struct worker *worker;
  struct pollfd *watched;
  struct place *place;
  size_t place_count;
  struct bw_diag *diag;
};

static bool send_all(int line, const void *bytes, size_t size) {
  const unsigned char *from = bytes;
  while (size > 0) {
    const ssize_t sent = send(line, from, size, MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) {
      continue;
    }
    if (sent <= 0) {
      return false;
    }
    from += sent;
    size -= (size_t)sent;
  }
  return true;
}

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

static _Noreturn void be_worker(const struct crew *crew, int line, pid_t parent) {
  (void)prctl(PR_SET_PDEATHSIG, SIGKILL);
  (void)setpgid(0, 0); /* an interrupt at the terminal is the parent's business */
  for (size_t i = 0; i < crew->job->workers; i++) {
    if (crew->worker[i].pid != 0) {
      (void)close(crew->worker[i].line);
    }
  }
  size_t index = 0;
  while (getppid() == parent && receive_all(line, &index, sizeof index)) {
    struct bw_parcel parcel = {0};
    crew->job->work(crew->job->context, index, &parcel);
    struct head head = {parcel.size, 0};
    if (parcel.has_failed) {
      head = (struct head){0, 1};
    }
    if (!send_all(line, &head, sizeof head) || !send_all(line, parcel.bytes, (size_t)head.size)) {
      break;
    }
    bw_parcel_free(&parcel);
  }
  _exit(0);
}

static enum bw_status start(const struct crew *crew, struct worker *worker) {
  int ends[2];
  char reason[128] = "unknown error";
  if (socketpair(AF_UNIX, SOCK_STREAM, 0, ends) != 0) {
    (void)strerror_r(errno, reason, sizeof reason);
    return bw_fail(crew->diag, BW_E_MEMORY, "cannot reach a worker process (%s); use fewer --jobs",
                   reason);
  }
  (void)fflush(NULL);
  const pid_t parent = getpid();
  const pid_t pid = fork();
  if (pid == 0) {
    (void)close(ends[0]);
    be_worker(crew, ends[1], parent);
  }
  const int error = errno;
  (void)close(ends[1]);
  if (pid < 0) {
    (void)close(ends[0]);
    (void)strerror_r(error, reason, sizeof reason);
    return bw_fail(crew->diag, BW_E_MEMORY, "cannot start a worker process (%s); use fewer --jobs",
                   reason);
  }
  (void)setpgid(pid, pid);
  *worker = (struct worker){.pid = pid, .line = ends[0]};
  return BW_OK;
}

/* end a worker; gives its wait state */
static int end(struct worker *worker, bool must_kill) {
  int state = 0;
  if (must_kill) {
    (void)kill(worker->pid, SIGKILL);
  }
  while (waitpid(worker->pid, &state, 0) < 0 && errno == EINTR) {
  }
  (void)close(worker->line);
  *worker = (struct worker){0};
  return state;
}

/* the worker's line broke: note the piece as lost, the worker is started anew when needed */
static void lose(struct crew *crew, struct worker *worker) {
  struct place *place = &crew->place[worker->index % crew->place_count];
  const bool was_busy = worker->is_busy;
  const int state = end(worker, false);
  if (!was_busy) {
    return;
  }
  place->is_filled = true;
  place->is_lost = true;
  if (WIFSIGNALED(state)) {
    (void)snprintf(place->lost, LOST_MAX, "its worker process was ended by signal %d",
                   WTERMSIG(state));
  } else {
    (void)snprintf(place->lost, LOST_MAX, "its worker process ended itself with status %d",
                   WEXITSTATUS(state));
  }
}

static enum bw_status receive(struct crew *crew, struct worker *worker) {
  struct place *place = &crew->place[worker->index % crew->place_count];
  struct head head;
  if (!worker->is_busy || !receive_all(worker->line, &head, sizeof head)) {
    lose(crew, worker);
    return BW_OK;
  }
  if (head.has_failed != 0 || head.size > PARCEL_MAX) {
    return bw_fail(crew->diag, BW_E_MEMORY, "out of memory for the results of a worker process");
  }
  place->parcel = (struct bw_parcel){.bytes = bw_alloc((size_t)head.size, 1)};
  if (place->parcel.bytes == NULL) {
    return bw_fail(crew->diag, BW_E_MEMORY, "out of memory for the results of a worker process");
  }
  place->parcel.room = (size_t)head.size;
  place->parcel.size = (size_t)head.size;
  if (!receive_all(worker->line, place->parcel.bytes, place->parcel.size)) {
    bw_parcel_free(&place->parcel);
    lose(crew, worker);
    return BW_OK;
  }
  place->is_filled = true;
  worker->is_busy = false;
  return BW_OK;
}

static enum bw_status hand_out(struct crew *crew) {
  for (size_t i = 0; i < crew->job->workers; i++) {
    struct worker *worker = &crew->worker[i];
    if (worker->is_busy || crew->next >= crew->job->end ||
        crew->next >= crew->taken + crew->place_count) {
      continue;
    }
    if (worker->pid == 0) {
      BW_TRY(start(crew, worker));
    }
    worker->index = crew->next++;
    worker->is_busy = true;
    if (!send_all(worker->line, &worker->index, sizeof worker->index)) {
      lose(crew, worker);
    }
  }
  return BW_OK;
}

static enum bw_status take_ready(struct crew *crew) {
  enum bw_status status = BW_OK;
  while (status == BW_OK && crew->taken < crew->job->end) {
    struct place *place = &crew->place[crew->taken % crew->place_count];
    if (!place->is_filled) {
      break;
    }
    status = crew->job->take(crew->job->context, crew->taken,
                             place->is_lost ? NULL : &place->parcel, place->lost, crew->diag);
    bw_parcel_free(&place->parcel);
    *place = (struct place){0};
    crew->taken++;
  }
  return status;
}

static enum bw_status receive_ready(struct crew *crew) {
  const size_t count = crew->job->workers;
  for (size_t i = 0; i < count; i++) {
    const bool is_there = crew->worker[i].pid != 0;
    crew->watched[i] =
        (struct pollfd){.fd = is_there ? crew->worker[i].line : -1, .events = POLLIN};
  }
  if (poll(crew->watched, (nfds_t)count, POLL_MS) <= 0) {
    return BW_OK;
  }
  for (size_t i = 0; i < count; i++) {
    if (crew->watched[i].revents != 0) {
      BW_TRY(receive(crew, &crew->worker[i]));
    }
  }
  return BW_OK;
}

static enum bw_status go(struct crew *crew) {
  while (crew->taken < crew->job->end) {
    if (crew->job->is_cancelled != NULL && crew->job->is_cancelled()) {
      return BW_E_INTERRUPTED;
    }
    if (crew->job->tick != NULL) {
      crew->job->tick(crew->job->context);
    }
    BW_TRY(hand_out(crew));
    BW_TRY(receive_ready(crew));
    BW_TRY(take_ready(crew));
  }
  return BW_OK;
}

enum bw_status bw_sweep_run(const struct bw_sweep_crew *job, struct bw_diag *diag) {
  BW_ASSERT(job->workers > 0);
  struct crew crew = {.job = job, .next = job->first, .taken = job->first, .diag = diag};
  crew.place_count = job->workers * PLACES_PER_WORKER;
  crew.worker = bw_alloc(job->workers, sizeof *crew.worker);
  crew.watched = bw_alloc(job->workers, sizeof *crew.watched);
  crew.place = bw_alloc(crew.place_count, sizeof *crew.place);
  enum bw_status status = BW_OK;
  if (crew.worker == NULL || crew.watched == NULL || crew.place == NULL) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for the worker processes");
  } else {
    status = go(&crew);
  }
  for (size_t i = 0; crew.worker != NULL && i < job->workers; i++) {
    if (crew.worker[i].pid != 0) {
      (void)end(&crew.worker[i], true);
    }
  }
  for (size_t i = 0; crew.place != NULL && i < crew.place_count; i++) {
    bw_parcel_free(&crew.place[i].parcel);
  }
  bw_free(crew.worker);
  bw_free(crew.watched);
  bw_free(crew.place);
  return status;
}
