/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WATERFALL_CSV_H
#define BW_WATERFALL_CSV_H

#include "output/result.h"

#include <stdbool.h>
#include <stdio.h>

/** waterfall.csv: per strategy and speed range a row for the braking delivered, one per step and
 *  one for the energy into the cells. The first range of a strategy, from 0 with an empty end, is
 *  all speeds; the last of its bins has an empty end too. False on a write error. */
bool bw_write_waterfall_csv(const struct bw_results *results, FILE *stream);

/** The waterfall for people: a row per strategy, steps and last-in values, kJ. BW_E_MEMORY or
 *  BW_E_IO on failure. */
BW_MUST_CHECK enum bw_status bw_waterfall_print(const struct bw_results *results,
                                                const size_t *order, FILE *stream);

#endif
