/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_STATUS_H
#define BW_STATUS_H

#include "attributes.h"

#include <stdbool.h>
#include <stddef.h>

/** Outcome of every function that can fail, and the messages that explain it.
 *
 *  Input and run-time trouble returns an enum bw_status and appends one finished line to a
 *  caller-owned struct bw_diag (which may be NULL). Below src/cli nothing prints or exits. */

/* name, process exit status, what it means */
#define BW_STATUS_LIST(X)                                                                          \
  X(BW_OK, 0, "done")                                                                              \
  X(BW_E_LIMIT, 1, "an acceptance limit failed")                                                   \
  X(BW_E_USAGE, 2, "wrong usage")                                                                  \
  X(BW_E_INPUT, 2, "bad input")                                                                    \
  X(BW_E_RANGE, 2, "value out of range")                                                           \
  X(BW_E_NUMERIC, 3, "numerical failure")                                                          \
  X(BW_E_IO, 4, "read or write failed")                                                            \
  X(BW_E_MEMORY, 4, "out of memory")                                                               \
  X(BW_E_INTERNAL, 70, "defect of brakeweave")                                                     \
  X(BW_E_INTERRUPTED, 130, "interrupted")

enum bw_status {
#define BW_STATUS_ENUM(name, exit_status, text) name,
  BW_STATUS_LIST(BW_STATUS_ENUM)
#undef BW_STATUS_ENUM
};

enum { BW_DIAG_LINES = 20, BW_DIAG_LENGTH = 600 };

/** Up to BW_DIAG_LINES finished messages, each `place: what is wrong; how to mend it`.
 *  Start from {0}. Further messages are counted in `count` but not kept. */
struct bw_diag {
  size_t count; /**< messages reported, may exceed BW_DIAG_LINES */
  char line[BW_DIAG_LINES][BW_DIAG_LENGTH];
};

/** Append `brakeweave: message` to *diag (NULL: nothing kept) and return `status`. */
enum bw_status bw_fail(struct bw_diag *diag, enum bw_status status, const char *format, ...)
    BW_PRINTF(3, 4);

/** Append `file:line: message` (line 0: `file: message`; file NULL: as bw_fail) and return
 *  `status`. Control characters in the text become '?', so a hostile name stays one line. */
enum bw_status bw_fail_at(struct bw_diag *diag, enum bw_status status, const char *file, int line,
                          const char *format, ...) BW_PRINTF(5, 6);

/** Process exit status, 0..255, that belongs to `status` (table in DEVELOPERS.md). */
int bw_status_exit(enum bw_status status);

/** Short English text of `status`; a constant string. */
const char *bw_status_text(enum bw_status status);

/** Why something ended with `status`: the first message of *diag, the text of `status` when there
 *  is none. Borrowed from *diag or constant. */
const char *bw_diag_text(const struct bw_diag *diag, enum bw_status status);

/** `message` without the program's name in front, to stand in a table or within another one. */
const char *bw_message_bare(const char *message);

/** True when `status` is no trouble of one run among many but of all: disk, memory, an interrupt,
 *  a defect. */
bool bw_status_ends_all(enum bw_status status);

/** Return from the calling function with the status of `call` unless it is BW_OK. Only for
 *  places where nothing is held. */
#define BW_TRY(call)                                                                               \
  do {                                                                                             \
    const enum bw_status bw_try_status = (call);                                                   \
    if (bw_try_status != BW_OK)                                                                    \
      return bw_try_status;                                                                        \
  } while (0)

/** Programmer's mistakes. On in every build, optimised ones too. */
#define BW_ASSERT(condition)                                                                       \
  ((condition) ? (void)0 : bw_assert_failed(#condition, __FILE__, __LINE__))
_Noreturn void bw_assert_failed(const char *condition, const char *file, int line);

#endif
