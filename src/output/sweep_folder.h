/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_FOLDER_H
#define BW_SWEEP_FOLDER_H

#include "status.h"

/** Make the folder of a sweep where it is not there. BW_E_USAGE when that cannot be, and for a
 *  folder with files that no sweep writes. */
BW_MUST_CHECK enum bw_status bw_sweep_folder_claim(const char *path, struct bw_diag *diag);

#endif
