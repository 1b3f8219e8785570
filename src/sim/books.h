/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BOOKS_H
#define BW_BOOKS_H

#include "sim/plant.h"

/** Close one control period: losses, battery (solved once, from the mean power, after the
 *  sub-steps), temperatures, distance, and the sample for the observers.
 *  BW_E_NUMERIC when the battery cannot give the power. */
BW_MUST_CHECK enum bw_status bw_books_close(struct bw_plant *plant, const struct bw_limits *limits,
                                            const struct bw_hot_sums *sums, double sin_slope,
                                            struct bw_sample *sample, struct bw_diag *diag);

#endif
