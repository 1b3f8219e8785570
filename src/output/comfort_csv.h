/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_COMFORT_CSV_H
#define BW_COMFORT_CSV_H

#include "output/result.h"

#include <stdbool.h>
#include <stdio.h>

/** comfort.csv: per strategy a row for each felt limit, the last without any (empty field): the
 *  band of an exchange at 2 m/s2, the energy that could be recovered and its share of what could be
 *  without a felt limit. Results without a curve have no rows. False on a write error. */
bool bw_write_comfort_csv(const struct bw_results *results, FILE *stream);

/** The same for people, one row per strategy; nothing when no result has a curve. BW_E_MEMORY or
 *  BW_E_IO on failure. */
BW_MUST_CHECK enum bw_status bw_comfort_print(const struct bw_results *results, const size_t *order,
                                              FILE *stream);

#endif
