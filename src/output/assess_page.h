/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_PAGE_H
#define BW_ASSESS_PAGE_H

#include "batch/assess.h"

#include <stdio.h>

/** The short page: a verdict per strategy, what was missed and what is nearest to its limit, then
 *  each requirement once with its worst condition and its source, figures without a limit, and what
 *  was not assessed. BW_E_MEMORY or BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_assess_print_page(const struct bw_assessment *assessment,
                                                  FILE *stream);

#endif
