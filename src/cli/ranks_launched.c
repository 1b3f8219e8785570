/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ranks.h"

#include <stdlib.h>

/* one answer for programs with and without MPI: without it each rank would sweep everything */
static const char *launched_rank(void) {
  const char *rank = getenv("OMPI_COMM_WORLD_RANK"); /* of Open MPI's mpirun */
  return rank != NULL ? rank : getenv("PMIX_RANK");  /* of batch systems that start ranks */
}

bool bw_ranks_are_launched(void) {
  return launched_rank() != NULL;
}

bool bw_ranks_is_first(void) {
  const char *rank = launched_rank();
  return rank == NULL || strtol(rank, NULL, 10) == 0;
}
