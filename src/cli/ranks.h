/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RANKS_H
#define BW_RANKS_H

#include "brakeweave.h"

/** A sweep in the ranks that a batch system started, over MPI.
 *
 *  Rank 0 hands out the points one by one to whoever is done, takes the answers in order and
 *  writes; every rank works, rank 0 too. The work happens in processes that are forked before MPI
 *  starts, so that a crash in it ends neither a rank nor the job, and MPI is never forked. Only
 *  `sweep` starts MPI, and only when a launcher is found in the environment. */
struct bw_ranks;

/** True when a launcher started this process as one of its ranks. */
bool bw_ranks_are_launched(void);

/** True unless the launcher's environment says that this is another rank than 0. */
bool bw_ranks_is_first(void);

/** Fork the workers of this rank (crew->workers; work, context and deadline count) and start MPI.
 *  `own` is how this rank came so far, `inputs` the checksum of what it read: when one rank has
 *  failed all end with its status, and only the first such rank keeps its messages in *diag; so do
 *  ranks that read other inputs than rank 0. BW_E_USAGE when the program is built without MPI.
 *  *out is NULL then; end it with bw_ranks_end(). Once per process. */
BW_MUST_CHECK enum bw_status bw_ranks_start(const struct bw_sweep_crew *crew, uint64_t inputs,
                                            enum bw_status own, struct bw_ranks **out,
                                            struct bw_diag *diag);

/** Rank 0: do all pieces of `crew`, as bw_sweep_run() does. */
BW_MUST_CHECK enum bw_status bw_ranks_run(struct bw_ranks *ranks, const struct bw_sweep_crew *crew,
                                          struct bw_diag *diag);

/** Other ranks: do what rank 0 hands out until it ends. BW_E_MEMORY ends all of them. */
BW_MUST_CHECK enum bw_status bw_ranks_serve(struct bw_ranks *ranks, struct bw_diag *diag);

/** End the workers and MPI; from rank 0 all other ranks too. NULL is fine. */
void bw_ranks_end(struct bw_ranks *ranks);

#endif
