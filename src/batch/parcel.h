/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PARCEL_H
#define BW_PARCEL_H

#include "assess/evaluate.h"
#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Bytes on their way from a child process to its parent: both are the same program, so values
 *  travel as they lie in memory. A parcel is filled by put and emptied in the same order by get;
 *  what went wrong in between sticks in `has_failed`. Start from {0}. */
struct bw_parcel {
  unsigned char *bytes; /**< (room) owned */
  size_t size;          /**< bytes that are filled */
  size_t room;
  size_t at;       /**< next byte to take out */
  bool has_failed; /**< no memory, or more was taken out than is in */
};

void bw_parcel_put(struct bw_parcel *parcel, const void *bytes, size_t size);

/** Take `size` bytes; zeroes and `has_failed` when there are less. */
void bw_parcel_get(struct bw_parcel *parcel, void *bytes, size_t size);

/** Free the bytes and start anew. */
void bw_parcel_free(struct bw_parcel *parcel);

/** A status with all messages of *diag. */
void bw_parcel_put_status(struct bw_parcel *parcel, enum bw_status status,
                          const struct bw_diag *diag);

/** Take them out; the messages are appended to *diag (NULL: dropped). BW_E_INTERNAL when the
 *  parcel does not hold a status. */
enum bw_status bw_parcel_get_status(struct bw_parcel *parcel, struct bw_diag *diag);

/** An evaluation with its lists. */
void bw_parcel_put_evaluation(struct bw_parcel *parcel, const struct bw_evaluation *evaluation);

/** Take it out; *evaluation is zeroed when something is missing. Free it with
 *  bw_evaluation_free(). BW_E_MEMORY or BW_E_INTERNAL with a message. */
BW_MUST_CHECK enum bw_status bw_parcel_get_evaluation(struct bw_parcel *parcel,
                                                      struct bw_evaluation *evaluation,
                                                      struct bw_diag *diag);

#endif
