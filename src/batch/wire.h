/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WIRE_H
#define BW_WIRE_H

#include "status.h"

#include <stdbool.h>
#include <sys/types.h>

/** A child process and the line to it, a pair of sockets: what contained runs and the workers of a
 *  sweep have in common. */
struct bw_wire {
  pid_t pid;    /**< of the child; in the child 0 */
  pid_t parent; /**< who forked */
  int line;     /**< this process's end, both ways */
};

/** Fork. Returns in both processes. The child has its own process group, because an interrupt at
 *  the terminal is the parent's business, and dies with the parent. Streams are flushed before,
 *  or both would write the same bytes. BW_E_MEMORY, in the parent alone: 'cannot start `who`
 *  (why); `mend`'. */
BW_MUST_CHECK enum bw_status bw_wire_fork(const char *who, const char *mend, struct bw_wire *out,
                                          struct bw_diag *diag);

/** Send all of `size` bytes; false when nobody listens any more. */
bool bw_wire_send(int line, const void *bytes, size_t size);

/** s on the monotonic clock, for deadlines in wall time. */
double bw_wire_clock(void);

#endif
