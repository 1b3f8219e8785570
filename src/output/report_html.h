/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REPORT_HTML_H
#define BW_REPORT_HTML_H

#include "status.h"

#include <stdio.h>

/** Write the report of the results folder `folder` as one HTML page with one script of ours and
 *  without anything from outside: verdict, strategies, figures of its subfolder figures/ (newer
 * than the results, SVG), hand-overs, balance, ledger and checks, every parameter, hashes.
 * `version` is the program's. Everything read is escaped. Missing file or column: BW_E_INPUT with a
 * line, nothing written then; BW_E_MEMORY. Write errors stay with the stream. */
BW_MUST_CHECK enum bw_status bw_report_write(const char *folder, const char *version, FILE *stream,
                                             struct bw_diag *diag);

#endif
