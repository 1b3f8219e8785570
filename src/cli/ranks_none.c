/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ranks.h"

enum bw_status bw_ranks_start(const struct bw_sweep_crew *crew, uint64_t inputs, enum bw_status own,
                              struct bw_ranks **out, struct bw_diag *diag) {
  (void)crew;
  (void)inputs;
  *out = NULL;
  if (!bw_ranks_is_first()) {
    diag->count = 0; /* the first says it for all */
    return own != BW_OK ? own : (enum bw_status)BW_E_USAGE;
  }
  return own != BW_OK
             ? own
             : bw_fail(diag, BW_E_USAGE,
                       "was started as a rank (mpirun or a batch system) but is built without "
                       "MPI; build it where Open MPI is installed, or use --part");
}

enum bw_status bw_ranks_run(struct bw_ranks *ranks, const struct bw_sweep_crew *crew,
                            struct bw_diag *diag) {
  (void)ranks;
  (void)crew;
  (void)diag;
  return BW_E_INTERNAL;
}

enum bw_status bw_ranks_serve(struct bw_ranks *ranks, struct bw_diag *diag) {
  (void)ranks;
  (void)diag;
  return BW_E_INTERNAL;
}

void bw_ranks_end(struct bw_ranks *ranks) {
  (void)ranks;
}
