/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REPORT_DIAG_H
#define BW_REPORT_DIAG_H

#include "brakeweave.h"

/** Print every message of `diag` to standard error, and how many more there were; when it holds
 *  none, the text of `status`. Gives the exit status of `status`. */
int bw_report_diag(const struct bw_diag *diag, enum bw_status status);

/** Tell on standard error of the temporary folder that a killed writer of the same target left, if
 *  there is one. */
void bw_report_left(const struct bw_folder *folder);

#endif
