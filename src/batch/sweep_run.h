/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_RUN_H
#define BW_SWEEP_RUN_H

#include "batch/parcel.h"

/** Many pieces of work in a crew of worker processes, results taken in their order.
 *
 *  The workers are forked from this process, which must have one thread; each asks for the next
 *  piece when it is done with one. Results that come too early wait in a window of a fixed number
 *  of places, so memory does not grow with the number of pieces. A worker that dies costs the one
 *  piece it was at; another takes its place. Workers die with this process. */

struct bw_sweep_crew {
  size_t first;    /**< first piece */
  size_t end;      /**< behind the last one */
  size_t workers;  /**< >= 1 */
  double deadline; /**< s of wall time per piece, 0: none; who is later is killed, its piece lost */
  void *context;
  /** In a worker: do piece `index`; what is put into the parcel arrives. */
  void (*work)(void *context, size_t index, struct bw_parcel *parcel);
  /** In this process, index by index: take the result of a piece. `parcel` is NULL when its worker
   *  died, `lost` then says how. Any status but BW_OK ends the crew. */
  enum bw_status (*take)(void *context, size_t index, struct bw_parcel *parcel, const char *lost,
                         struct bw_diag *diag);
  bool (*is_cancelled)(void);  /**< asked about ten times per second; NULL: never */
  void (*tick)(void *context); /**< called about ten times per second; NULL: never */
};

/** Do all pieces. BW_E_INTERRUPTED without a message when cancelled, BW_E_MEMORY when no worker
 *  can be made, statuses of `take`. No worker is left when it returns. */
BW_MUST_CHECK enum bw_status bw_sweep_run(const struct bw_sweep_crew *crew, struct bw_diag *diag);

#endif
