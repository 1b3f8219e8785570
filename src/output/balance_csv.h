/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BALANCE_CSV_H
#define BW_BALANCE_CSV_H

#include "batch/assess.h"

#include <stdio.h>

/** Write the curves of an assessment as a table: per strategy, load state, charge (full, own, none,
 *  any) and braking rate the lowest and highest adhesion used per axle, the axle that locks first,
 *  and the limits; several strategies are followed by the band over all of them, called 'all'.
 *  Numbers are ratios. An empty field: not reached, or no limit there. False when it failed. */
bool bw_balance_write_csv(const struct bw_assessment *assessment, FILE *stream);

#endif
