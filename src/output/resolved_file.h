/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RESOLVED_FILE_H
#define BW_RESOLVED_FILE_H

#include "input/case.h"
#include "status.h"

/** Write the parameters of a case into FOLDER/`table`-resolved.cfg, in the form of the resolved.cfg
 *  that a run leaves, as output/table_file.h does. Tables other than those of a run have a file of
 *  their own beside them, for the run in the folder may have been given another case. */
BW_MUST_CHECK enum bw_status bw_resolved_file_write(const char *folder, const char *table,
                                                    const struct bw_case *loaded,
                                                    struct bw_diag *diag);

#endif
