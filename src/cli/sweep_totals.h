/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_TOTALS_H
#define BW_SWEEP_TOTALS_H

#include "brakeweave.h"

/** What became of a sweep or of the parts that were joined. */
struct bw_sweep_totals {
  size_t points;
  size_t runs;   /**< per point */
  size_t failed; /**< runs */
  size_t missed; /**< runs that missed an acceptance limit */
};

/** Print them in a line; gives the exit status as 'run' does: a failed run's, else that of a missed
 *  limit, else 0. */
int bw_sweep_totals_report(const struct bw_sweep_totals *totals);

#endif
