/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/ledger.h"

#include "extrema.h"

#include <math.h>

static void add_axle(struct bw_ledger_keeper *keeper, const struct bw_sample_axle *axle, int i) {
  struct bw_ledger *totals = &keeper->totals;
  totals->drive += axle->drive_work;
  totals->machine += axle->machine_work;
  totals->friction[i] += axle->friction_work;
  totals->tyre += axle->tyre_loss;
  totals->driveline += axle->shaft_loss;
  totals->gear += axle->gear_loss;
  totals->machine_loss += axle->machine_loss;
  keeper->shaft += axle->shaft_work;
}

/* what goes in and what comes out are kept apart */
static void add_signed(double work, double *in, double *out) {
  if (work > 0.0) {
    *in += work;
  } else {
    *out -= work;
  }
}

void bw_ledger_watch(struct bw_ledger_keeper *keeper, const struct bw_sample *sample) {
  struct bw_ledger *totals = &keeper->totals;
  if (!keeper->is_started) {
    totals->kinetic_start = sample->kinetic_start;
    keeper->is_started = true;
  }
  totals->kinetic_end = sample->kinetic_end;
  totals->potential += sample->potential;
  totals->road += sample->road_work;
  add_axle(keeper, &sample->axle[BW_FRONT], BW_FRONT);
  add_axle(keeper, &sample->axle[BW_REAR], BW_REAR);
  const double dc = sample->axle[BW_FRONT].dc_work + sample->axle[BW_REAR].dc_work;
  add_signed(dc, &totals->dc_in, &totals->dc_out);
  totals->auxiliaries += sample->auxiliaries_work;
  add_signed(sample->battery_work, &totals->terminals_in, &totals->terminals_out);
  totals->cells += sample->cells_work;
  totals->rc += sample->rc_work;
  totals->resistance += sample->resistance_loss;
}

static double mechanical_residual(const struct bw_ledger *t) {
  const double in = t->kinetic_start + t->drive;
  const double out = t->kinetic_end + t->potential + t->road + t->machine + t->friction[0] +
                     t->friction[1] + t->tyre + t->driveline;
  return fabs(in - out) / bw_max(in + fabs(t->potential), 1.0);
}

static double electrical_residual(const struct bw_ledger *t, double shaft) {
  const double dc = t->dc_in - t->dc_out;
  const double terminals = t->terminals_in - t->terminals_out;
  const double missing =
      fabs(t->machine - t->drive - t->gear - shaft) + fabs(shaft - t->machine_loss - dc) +
      fabs(dc - t->auxiliaries - terminals) + fabs(terminals - t->cells - t->rc - t->resistance);
  return missing / bw_max(t->dc_in + t->dc_out, 1.0);
}

enum bw_status bw_ledger_finish(struct bw_ledger_keeper *keeper, struct bw_summary *summary,
                                struct bw_ledger *out, struct bw_diag *diag) {
  struct bw_ledger *totals = &keeper->totals;
  totals->residual_mechanical = mechanical_residual(totals);
  totals->residual_electrical = electrical_residual(totals, keeper->shaft);
  summary->value[BW_SUMMARY_LEDGER_MECHANICAL] = totals->residual_mechanical;
  summary->value[BW_SUMMARY_LEDGER_ELECTRICAL] = totals->residual_electrical;
  *out = *totals;
  if (!(totals->residual_mechanical <= BW_LEDGER_MECHANICAL_MAX)) {
    return bw_fail(diag, BW_E_NUMERIC,
                   "%.3g of the mechanical work is unaccounted for, more than %.0e; shorten "
                   "step_ms, or report a defect",
                   totals->residual_mechanical, BW_LEDGER_MECHANICAL_MAX);
  }
  if (!(totals->residual_electrical <= BW_LEDGER_ELECTRICAL_MAX)) {
    return bw_fail(diag, BW_E_NUMERIC,
                   "%.3g of the electrical work is unaccounted for, more than %.0e; shorten "
                   "step_ms, or report a defect",
                   totals->residual_electrical, BW_LEDGER_ELECTRICAL_MAX);
  }
  return BW_OK;
}
