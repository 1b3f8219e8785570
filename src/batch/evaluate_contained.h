/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_EVALUATE_CONTAINED_H
#define BW_EVALUATE_CONTAINED_H

#include "assess/evaluate.h"
#include "assess/fault_drive.h"
#include "assess/moment.h"
#include "batch/plugin.h"

/** bw_evaluate() of a loaded controller, the whole run in one child process; the results are those
 *  that a built-in strategy of the same code would have, bit for bit. `extra` (NULL: none) watches
 *  in the child: what it writes to open streams is kept, what it leaves in memory is not. Statuses
 *  as bw_evaluate() and bw_plugin_run(); on error *out is zeroed. */
BW_MUST_CHECK enum bw_status bw_evaluate_contained(const struct bw_case *loaded,
                                                   const struct bw_plugin *plugin,
                                                   const struct bw_containment *containment,
                                                   const struct bw_observer *extra,
                                                   struct bw_evaluation *out, struct bw_diag *diag);

/** bw_moment_find() of a loaded controller, in a child as well. */
BW_MUST_CHECK enum bw_status bw_moment_find_contained(const struct bw_case *loaded,
                                                      const struct bw_plugin *plugin,
                                                      const struct bw_containment *containment,
                                                      double at, struct bw_moment *out,
                                                      struct bw_diag *diag);

/** bw_fault_drive_run() of a loaded controller, in a child as well. */
BW_MUST_CHECK enum bw_status bw_fault_drive_contained(const struct bw_case *loaded,
                                                      const struct bw_plugin *plugin,
                                                      const struct bw_containment *containment,
                                                      struct bw_fault_drive *drive,
                                                      struct bw_diag *diag);

/** Wall time (s) that a run of `loaded` may take: 10 s, and fifty times what it is expected to take
 *  at 40 ns per plant step. */
double bw_containment_deadline(const struct bw_case *loaded);

#endif
