/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_TABLE_H
#define BW_ASSESS_TABLE_H

#include "batch/assess.h"
#include "output/grid.h"

#include <stdio.h>

/** Writing an assessment. */

/** 'kept', 'missed', 'information' or 'not assessed'. */
const char *bw_assess_outcome(const struct bw_assess_row *row);

/** What a row was assessed under, such as 'battery full'; lives as long as the row. */
const char *bw_assess_condition_text(const struct bw_assess_row *row);

/** 'laden' or 'unladen'. */
const char *bw_assess_load_text(const struct bw_assess_row *row);

/** The strategy's name, or 'the car' for rows that are true whatever the strategy. */
const char *bw_assess_strategy_text(const struct bw_assess_row *row);

/** Put a number with `places` behind the point into a grid, '-' when it is not finite. */
void bw_assess_put_number(struct bw_grid *grid, double value, int places);

/** Print for people: the short page (output/assess_page.h), with `is_full` every row behind it,
 *  strategy by strategy, and how each family works. BW_E_MEMORY or BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_assess_print(const struct bw_case *loaded,
                                             const struct bw_assessment *assessment, bool is_full,
                                             const char *version, FILE *stream);

/** Tell before the work whether bw_assess_write_csv() could write into `folder` now; leaves nothing
 *  behind. Errors as there. */
BW_MUST_CHECK enum bw_status bw_assess_try_csv(const char *folder, struct bw_diag *diag);

/** Write FOLDER/assess.csv, a row per row, the curves behind it and the case's parameters in
 *  FOLDER/assess-resolved.cfg, each as output/table_file.h does. */
BW_MUST_CHECK enum bw_status bw_assess_write_csv(const struct bw_case *loaded,
                                                 const struct bw_assessment *assessment,
                                                 const char *folder, struct bw_diag *diag);

#endif
