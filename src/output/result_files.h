/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RESULT_FILES_H
#define BW_RESULT_FILES_H

#include "output/folder.h"
#include "output/result.h"

/** Write every table of a comparison but the traces into `folder`: summary, events, hand-overs,
 *  ledger, waterfall, the resolved case, and comfort.csv when the results have that. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_result_files_write(struct bw_folder *folder,
                                                   const struct bw_results *results,
                                                   struct bw_diag *diag);

#endif
