/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULTS_TABLE_H
#define BW_FAULTS_TABLE_H

#include "assess/fault_search.h"
#include "input/case.h"

#include <stdio.h>

/** What a fault study found: one cell per fault and condition. */

struct bw_fault_cell {
  const char *kind;      /**< word of fault.kind */
  size_t condition;      /**< from 0 */
  enum bw_status status; /**< BW_OK, or why there is no effect */
  char failure[256];     /**< the same in words, "" when BW_OK */
  struct bw_fault_worst worst;
};

/** The study's conditions. Borrows everything. */
struct bw_fault_conditions {
  size_t count;
  size_t key_count;
  const char *const *key;   /**< (key_count) of the parameter table */
  const char *const *value; /**< (count x key_count) */
};

struct bw_fault_study {
  const struct bw_fault_conditions *conditions;
  enum bw_fault_order order;
  size_t count;
  struct bw_fault_cell *cells; /**< (count) */
};

/** Sort cells, worst first by bw_fault_effect_rank(), ties in the order given, failed ones last. */
void bw_fault_cells_sort(const struct bw_fault_study *study);

/** Print the conditions for people, each as its difference to the first. False on a write error. */
bool bw_fault_conditions_print(const struct bw_fault_conditions *conditions, FILE *stream);

/** Print sorted cells for people, in lines of at most 100 columns: the worst cell of each kind, at
 *  most `rows` cells, and what the columns mean. Cells whose figures are those of the sound car to
 *  the last digit shown are counted instead. BW_E_IO on a write error, BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_fault_cells_print(const struct bw_fault_study *study, size_t rows,
                                                  FILE *stream);

/** Tell before the work whether bw_fault_cells_write() could write into `folder` now; leaves
 *  nothing behind. Errors as there. */
BW_MUST_CHECK enum bw_status bw_fault_cells_try(const char *folder, struct bw_diag *diag);

/** Write `folder`/faults.csv, and the parameters of the case before its conditions into
 *  faults-resolved.cfg, each as output/table_file.h does. A row per cell in the order of the
 *  cells; columns: fault, condition (from 1), the conditions' keys, figures, status, reason.
 *  BW_E_USAGE for a folder that cannot be or that holds a faults.csv which is none of ours, BW_E_IO
 *  when writing failed. */
BW_MUST_CHECK enum bw_status bw_fault_cells_write(const struct bw_fault_study *study,
                                                  const struct bw_case *loaded, const char *folder,
                                                  struct bw_diag *diag);

#endif
