/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_PART_H
#define BW_ASSESS_PART_H

#include "output/assess_digest.h"

#include <stdio.h>

/** Parts of the short page: each requirement once. */

/** Requirements with a limit, part by part: limit, result, margin, unit, outcome and source of the
 *  worst row, and where that is. BW_E_MEMORY or BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_assess_print_limits(const struct bw_assessment *assessment,
                                                    const struct bw_assess_entry *entries,
                                                    size_t count, FILE *stream);

/** Figures without a limit, by source: least and greatest, and where. BW_E_MEMORY or BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_assess_print_figures(const struct bw_assess_entry *entries,
                                                     size_t count, FILE *stream);

#endif
