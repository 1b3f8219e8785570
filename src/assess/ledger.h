/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_LEDGER_H
#define BW_LEDGER_H

#include "assess/evaluate.h"

/** The books of a run: adds up every work of the samples and says how much is unaccounted for.
 *
 *  Mechanical residual: |kinetic_start + drive - (kinetic_end + potential + road + machine +
 *  friction + tyre + driveline)| over max(kinetic_start + drive + |potential|, 1 J).
 *  Electrical residual: |machine - drive - gear - shaft| + |shaft - loss - dc| +
 *  |dc - auxiliaries - terminals| + |terminals - cells - rc - resistance| over
 *  max(dc_in + dc_out, 1 J). */
struct bw_ledger_keeper {
  struct bw_ledger totals;
  double shaft;
  bool is_started;
};

#define BW_LEDGER_MECHANICAL_MAX 1e-9
#define BW_LEDGER_ELECTRICAL_MAX 1e-6

void bw_ledger_watch(struct bw_ledger_keeper *keeper, const struct bw_sample *sample);

/** Work out the residuals, fill the summary and hand over the totals. BW_E_NUMERIC when a
 *  residual is above its limit or not a number. */
BW_MUST_CHECK enum bw_status bw_ledger_finish(struct bw_ledger_keeper *keeper,
                                              struct bw_summary *summary, struct bw_ledger *out,
                                              struct bw_diag *diag);

#endif
