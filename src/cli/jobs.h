/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_JOBS_H
#define BW_JOBS_H

#include "brakeweave.h"
#include "options.h"

/** Worker processes: --jobs, else one per processor. BW_E_USAGE for what is no whole number from 1
 *  to 1024. */
BW_MUST_CHECK enum bw_status bw_jobs_read(const struct bw_arguments *arguments, size_t *workers,
                                          struct bw_diag *diag);

#endif
