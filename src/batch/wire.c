/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/wire.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

/* why a system call failed */
static enum bw_status fail(const char *what, const char *who, const char *mend, int error,
                           struct bw_diag *diag) {
  char reason[128] = "unknown error";
  (void)strerror_r(error, reason, sizeof reason);
  return bw_fail(diag, BW_E_MEMORY, "cannot %s %s (%s); %s", what, who, reason, mend);
}

enum bw_status bw_wire_fork(const char *who, const char *mend, struct bw_wire *out,
                            struct bw_diag *diag) {
  int ends[2];
  if (socketpair(AF_UNIX, SOCK_STREAM, 0, ends) != 0) {
    return fail("reach", who, mend, errno, diag);
  }
  (void)fflush(NULL);
  const pid_t parent = getpid();
  const pid_t pid = fork();
  if (pid == 0) {
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL);
    (void)setpgid(0, 0);
    (void)close(ends[0]);
    *out = (struct bw_wire){0, parent, ends[1]};
    return BW_OK;
  }
  const int error = errno;
  (void)close(ends[1]);
  if (pid < 0) {
    (void)close(ends[0]);
    return fail("start", who, mend, error, diag);
  }
  (void)setpgid(pid, pid); /* whoever of the two comes first */
  *out = (struct bw_wire){pid, parent, ends[0]};
  return BW_OK;
}

bool bw_wire_send(int line, const void *bytes, size_t size) {
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

double bw_wire_clock(void) {
  struct timespec now = {0};
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}
