/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULTS_TABLE_H
#define BW_FAULTS_TABLE_H

#include "assess/fault_effect.h"

#include <stdio.h>

/** One cell of a fault study. */
struct bw_fault_cell {
  const char *kind;      /**< word of fault.kind */
  const char *condition; /**< key=value on top of the case, or "as given" */
  struct bw_fault_effect effect;
};

/** Sort cells, worst first by bw_fault_effect_rank(), ties in the order given. */
void bw_fault_cells_sort(struct bw_fault_cell *cells, size_t count);

/** Print the cells for people. BW_E_IO on a write error, BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_fault_cells_print(const struct bw_fault_cell *cells, size_t count,
                                                  FILE *stream);

/** Write `folder`/faults.csv, which appears whole or not at all; makes the folder where its parent
 *  exists. BW_E_USAGE for a folder that cannot be, BW_E_IO when writing failed. */
BW_MUST_CHECK enum bw_status bw_fault_cells_write(const struct bw_fault_cell *cells, size_t count,
                                                  const char *folder, struct bw_diag *diag);

#endif
