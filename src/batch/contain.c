/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _DEFAULT_SOURCE /* NOLINT: MAP_ANONYMOUS is of this level */

#include "batch/contain.h"

#include "alloc.h"
#include "batch/wire.h"

#include <errno.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* first bytes of what comes over the line: tells a parcel from a stray write */
static const uint64_t MAGIC = UINT64_C(0x627770617263656c);

enum { POLL_MS = 100, REAP_NS = 1000000, PARCEL_MAX = 1 << 28 };

enum { TROUBLE_NONE, TROUBLE_STREAMS, TROUBLE_MEMORY };

struct head {
  uint64_t magic;
  uint64_t size;
  uint64_t trouble; /* enum above */
};

/* the parent's view of a child at work */
struct child {
  const struct bw_contain_job *job;
  pid_t pid;
  int line;
  double end; /* s, monotonic clock */
  bool is_late;
  bool is_cancelled;
};

/* everything the child does; never comes back */
static _Noreturn void be_child(const struct bw_contain_job *job, int line) {
  static const int crashes[] = {SIGSEGV, SIGBUS, SIGABRT, SIGFPE, SIGILL};
  const struct rlimit no_core = {0, 0};
  for (size_t i = 0; i < sizeof crashes / sizeof crashes[0]; i++) {
    (void)signal(crashes[i], SIG_DFL); /* whoever wanted to handle them meant the parent's */
  }
  (void)setrlimit(RLIMIT_CORE, &no_core);
  (void)dup2(STDERR_FILENO, STDOUT_FILENO);
  struct bw_parcel parcel = {0};
  job->work(job->context, &parcel);
  struct head head = {MAGIC, parcel.size, TROUBLE_NONE};
  if (fflush(NULL) != 0) {
    head.trouble = TROUBLE_STREAMS;
  }
  if (parcel.has_failed) {
    head = (struct head){MAGIC, 0, TROUBLE_MEMORY};
  }
  const bool is_sent =
      bw_wire_send(line, &head, sizeof head) && bw_wire_send(line, parcel.bytes, (size_t)head.size);
  _exit(is_sent ? 0 : 1);
}

/* wait for something to read; false when the child's time is up */
static bool wait_readable(struct child *child) {
  struct pollfd watched = {.fd = child->line, .events = POLLIN};
  for (;;) {
    const double left = child->end - bw_wire_clock();
    child->is_late = !(left > 0.0);
    child->is_cancelled = child->job->is_cancelled != NULL && child->job->is_cancelled();
    if (child->is_late || child->is_cancelled) {
      return false;
    }
    const int wait_ms = left < POLL_MS * 1e-3 ? (int)(left * 1e3) + 1 : POLL_MS;
    const int ready = poll(&watched, 1, wait_ms);
    if (ready > 0 || (ready < 0 && errno != EINTR)) {
      return true;
    }
  }
}

/* false when the line ended or the time is up */
static bool read_all(struct child *child, void *bytes, size_t size) {
  unsigned char *to = bytes;
  while (size > 0) {
    if (!wait_readable(child)) {
      return false;
    }
    const ssize_t got = read(child->line, to, size);
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

static enum bw_status read_parcel(struct child *child, struct bw_parcel *parcel, bool *is_whole,
                                  struct bw_diag *diag) {
  struct head head = {0, 0, 0};
  *is_whole = false;
  if (!read_all(child, &head, sizeof head) || head.magic != MAGIC || head.size > PARCEL_MAX) {
    return BW_OK;
  }
  parcel->bytes = bw_alloc((size_t)head.size, 1);
  if (parcel->bytes == NULL || head.trouble == TROUBLE_MEMORY) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results of a child process");
  }
  parcel->room = (size_t)head.size;
  *is_whole = read_all(child, parcel->bytes, parcel->room);
  parcel->size = *is_whole ? parcel->room : 0;
  if (*is_whole && head.trouble == TROUBLE_STREAMS) {
    return bw_fail(diag, BW_E_IO, "a child process could not write its files; is the disk full?");
  }
  return BW_OK;
}

static void kill_child(const struct child *child) {
  (void)kill(-child->pid, SIGKILL); /* its process group: what it may have started too */
  (void)kill(child->pid, SIGKILL);
}

/* how the child ended; one that closed its line without ending is waited for until its deadline */
static int reap(struct child *child, bool is_over) {
  int state = 0;
  const struct timespec pause = {.tv_nsec = REAP_NS};
  for (;;) {
    if (is_over) {
      kill_child(child);
    }
    const pid_t got = waitpid(child->pid, &state, is_over ? 0 : WNOHANG);
    if (got == child->pid || (got < 0 && errno != EINTR)) {
      (void)kill(-child->pid, SIGKILL);
      return state;
    }
    child->is_cancelled = child->job->is_cancelled != NULL && child->job->is_cancelled();
    child->is_late = bw_wire_clock() > child->end;
    is_over = is_over || child->is_late || child->is_cancelled;
    if (!is_over) {
      (void)nanosleep(&pause, NULL);
    }
  }
}

static struct bw_contain_report report_of(const struct child *child, int state, bool is_whole) {
  if (is_whole) {
    return (struct bw_contain_report){BW_CONTAIN_DONE, 0};
  }
  if (child->is_cancelled) {
    return (struct bw_contain_report){BW_CONTAIN_CANCELLED, 0};
  }
  if (child->is_late) {
    return (struct bw_contain_report){BW_CONTAIN_LATE, 0};
  }
  if (WIFSIGNALED(state)) {
    return (struct bw_contain_report){BW_CONTAIN_CRASHED, WTERMSIG(state)};
  }
  return (struct bw_contain_report){BW_CONTAIN_EXITED, WEXITSTATUS(state)};
}

static enum bw_status watch_child(struct child *child, struct bw_parcel *parcel,
                                  struct bw_contain_report *report, struct bw_diag *diag) {
  bool is_whole = false;
  const enum bw_status status = read_parcel(child, parcel, &is_whole, diag);
  const bool is_over = is_whole || status != BW_OK || child->is_late || child->is_cancelled;
  const int state = reap(child, is_over);
  *report = report_of(child, state, is_whole);
  if (!is_whole) {
    bw_parcel_free(parcel);
  }
  return status;
}

enum bw_status bw_contain(const struct bw_contain_job *job, struct bw_parcel *parcel,
                          struct bw_contain_report *report, struct bw_diag *diag) {
  struct bw_wire wire;
  const double end = bw_wire_clock() + job->deadline;
  BW_TRY(bw_wire_fork("a child process", "close other programs", &wire, diag));
  if (wire.pid == 0) {
    be_child(job, wire.line);
  }
  struct child child = {.job = job, .pid = wire.pid, .line = wire.line, .end = end};
  const enum bw_status status = watch_child(&child, parcel, report, diag);
  (void)close(child.line);
  return status;
}

void *bw_contain_share(size_t size) {
  void *shared = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  return shared != MAP_FAILED ? shared : NULL;
}

void bw_contain_unshare(void *shared, size_t size) {
  if (shared != NULL) {
    (void)munmap(shared, size);
  }
}
