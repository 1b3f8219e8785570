/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_totals.h"

int bw_sweep_totals_report(const struct bw_sweep_totals *totals) {
  (void)printf("%zu points, %zu runs: %zu failed, %zu missed an acceptance limit\n", totals->points,
               totals->points * totals->runs, totals->failed, totals->missed);
  if (totals->failed > 0) {
    return bw_status_exit(BW_E_NUMERIC);
  }
  return bw_status_exit(totals->missed > 0 ? BW_E_LIMIT : BW_OK);
}
