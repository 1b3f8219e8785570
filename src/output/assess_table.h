/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_TABLE_H
#define BW_ASSESS_TABLE_H

#include "batch/assess.h"

#include <stdio.h>

/** Writing an assessment. */

/** 'kept', 'missed', 'information' or 'not assessed'. */
const char *bw_assess_outcome(const struct bw_assess_row *row);

/** Print for people. BW_E_MEMORY or BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_assess_print(const struct bw_case *loaded,
                                             const struct bw_assessment *assessment,
                                             const char *version, FILE *stream);

/** Write FOLDER/assess.csv, a row per row: written to a temporary name beside it and renamed, so
 *  that a reader sees all of it or none. The folder is made when it does not exist; its parent
 *  must. BW_E_USAGE when the folder cannot be used, BW_E_IO when writing fails. */
BW_MUST_CHECK enum bw_status bw_assess_write_csv(const struct bw_assessment *assessment,
                                                 const char *folder, struct bw_diag *diag);

#endif
