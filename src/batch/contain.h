/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CONTAIN_H
#define BW_CONTAIN_H

#include "batch/parcel.h"

/** Work in a child process that cannot take this one down.
 *
 *  The child does all of the work and hands one parcel back over a line; nothing is exchanged
 *  in between. A watchdog ends it at the deadline. What foreign code prints to standard output is
 *  sent to standard error, because standard output belongs to results. The child has its own
 *  process group, so that an interrupt at the terminal reaches this process alone, which then
 *  ends the child; it dies with this process and leaves no core file. */

struct bw_contain_job {
  /** Runs in the child; what it puts into the parcel arrives. Open streams of the parent may be
   *  written to: they are flushed before and after. */
  void (*work)(void *context, struct bw_parcel *parcel);
  void *context;
  double deadline;            /**< s of wall time, > 0 */
  bool (*is_cancelled)(void); /**< asked about ten times per second; NULL: never */
};

enum bw_contain_end {
  BW_CONTAIN_DONE,     /**< the parcel is here */
  BW_CONTAIN_CRASHED,  /**< ended by the signal `number` */
  BW_CONTAIN_EXITED,   /**< ended itself with status `number` before it was done */
  BW_CONTAIN_LATE,     /**< not done at the deadline, killed */
  BW_CONTAIN_CANCELLED /**< killed because `is_cancelled` said so */
};

struct bw_contain_report {
  enum bw_contain_end end;
  int number;
};

/** Do the job in a child. *parcel (start from {0}) is filled when the report says DONE; caller
 *  frees it. BW_E_MEMORY when no child could be made or its parcel does not fit, BW_E_IO when it
 * could not flush its streams. */
BW_MUST_CHECK enum bw_status bw_contain(const struct bw_contain_job *job, struct bw_parcel *parcel,
                                        struct bw_contain_report *report, struct bw_diag *diag);

/** Memory that parent and child share, zeroed; NULL when there is none. */
void *bw_contain_share(size_t size);

/** Give it back; NULL is fine. */
void bw_contain_unshare(void *shared, size_t size);

#endif
