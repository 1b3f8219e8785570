/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_GUARD_H
#define BW_GUARD_H

#include "batch/contain.h"
#include "sim/run.h"

/** Notes what a loaded controller is doing, so that its end can be told by somebody else. */

enum bw_guard_phase {
  BW_PHASE_LOADING, /**< the shared object is being opened */
  BW_PHASE_READING, /**< its table is being read */
  BW_PHASE_START,   /**< its start function, or what comes before the first step */
  BW_PHASE_STEP,    /**< in its step function */
  BW_PHASE_BETWEEN  /**< the program's own code, after a step */
};

/** In memory shared with the parent. */
struct bw_guard_page {
  enum bw_guard_phase phase;
  bool has_input;
  struct bw_blend_input input; /**< of the last step */
};

struct bw_guard {
  const char *path;
  struct bw_guard_page *page;
};

/** struct bw_observer.watch of a guard: does nothing. */
enum bw_status bw_guard_watch(void *context, const struct bw_sample *sample, struct bw_diag *diag);

/** struct bw_observer.consult of a struct bw_guard. BW_E_NUMERIC for a torque that is no number or
 *  beyond reason. */
enum bw_status bw_guard_consult(void *context, const struct bw_blend_input *input,
                                const struct bw_blend_request *request, struct bw_diag *diag);

/** One message about a child that ended before it was done: what, where in the run, last inputs.
 *  BW_E_INTERRUPTED (without message) when cancelled, else `status`. */
enum bw_status bw_guard_tell(const char *path, const struct bw_guard_page *page,
                             const struct bw_contain_report *report, double deadline,
                             enum bw_status status, struct bw_diag *diag);

#endif
