/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_SEARCH_H
#define BW_FAULT_SEARCH_H

#include "assess/fault_effect.h"

/** When one fault does most. */

/** Who drives: bw_fault_drive_run() with a strategy, or a child process with a loaded one. */
struct bw_fault_driver {
  enum bw_status (*drive)(void *context, const struct bw_case *loaded, struct bw_fault_drive *drive,
                          struct bw_diag *diag);
  void *context;
};

/** The sound car under one condition, driven once for all faults. Start from {0}; free with
 *  bw_fault_base_free(). A manoeuvre is one window from its start to its end. */
struct bw_fault_base {
  size_t count;
  struct bw_fault_window window[BW_FAULT_WINDOWS_MAX]; /**< (count) in order of time */
  struct bw_fault_drive sound[BW_FAULT_WINDOWS_MAX];   /**< (count) */
};

/** Drive `loaded` without its fault. Of a cycle, the `decelerations` (1 to BW_FAULT_WINDOWS_MAX)
 *  with the greatest braking power demanded are windows. BW_E_USAGE when there is no window of
 *  three control periods; statuses of the driver. */
BW_MUST_CHECK enum bw_status bw_fault_base_make(struct bw_case *loaded,
                                                const struct bw_fault_driver *driver,
                                                size_t decelerations, struct bw_fault_base *out,
                                                struct bw_diag *diag);

void bw_fault_base_free(struct bw_fault_base *base);

struct bw_fault_aim {
  size_t moments; /**< starts tried in the first round, over all windows, >= 1 */
  enum bw_fault_order order;
};

struct bw_fault_worst {
  struct bw_fault_effect effect;
  size_t runs; /**< that it took */
};

/** Find the start at which the fault of `loaded` ranks highest by `aim->order`: starts spread
 *  evenly over each window, at least two in each, then golden sections between the neighbours of
 *  the worst of them, down to two control periods. Nothing is narrowed where all starts rank the
 *  same. No start is driven twice. loaded->fault.start is left at the worst start. */
BW_MUST_CHECK enum bw_status bw_fault_search(struct bw_case *loaded,
                                             const struct bw_fault_base *base,
                                             const struct bw_fault_driver *driver,
                                             const struct bw_fault_aim *aim,
                                             struct bw_fault_worst *worst, struct bw_diag *diag);

#endif
