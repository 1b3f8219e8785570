/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DESCENT_CSV_H
#define BW_DESCENT_CSV_H

#include "batch/assess_descent.h"

#include <stdio.h>

/** Write the descents of an assessment, a row per stretch. False when the stream failed. */
bool bw_descent_write_csv(const struct bw_assessment *assessment, FILE *stream);

#endif
