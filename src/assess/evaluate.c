/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/evaluate.h"

#include "alloc.h"
#include "assess/balance.h"
#include "assess/body.h"
#include "assess/bound.h"
#include "assess/cascade.h"
#include "assess/ceiling.h"
#include "assess/disc_heat.h"
#include "assess/events.h"
#include "assess/gap.h"
#include "assess/handover.h"
#include "assess/lamp.h"
#include "assess/ledger.h"
#include "assess/reach.h"
#include "assess/tally.h"
#include "assess/trace_band.h"
#include "assess/verdict.h"
#include "assess/waterfall.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/** Every assessment of one run. */
struct bw_bench {
  struct bw_judge judge;
  bool has_ceiling;
  struct bw_period period;
  struct bw_event slice;   /**< what a braking period adds to its event */
  struct bw_event nothing; /**< what any other period adds */
  struct bw_tally tally;
  struct bw_ledger_keeper ledger;
  struct bw_lamp lamp;
  struct bw_trace_band band;
  struct bw_gap gap;
  struct bw_body body;
  struct bw_disc_heat disc_heat;
  struct bw_cascade cascade;
  struct bw_balance balance;
  struct bw_bound bound;
  struct bw_ceiling ceiling;
  struct bw_reach reach;
  struct bw_waterfall_keeper waterfall;
  struct bw_events events;
  struct bw_handover_finder handovers;
};

static enum bw_status start(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                            struct bw_bench *bench, struct bw_diag *diag) {
  const bool uses_machine = (strategy->flags & BW_BLEND_WITHOUT_MACHINE) == 0;
  bench->judge = bw_judge_make(loaded);
  const struct bw_judge *judge = &bench->judge;
  bench->has_ceiling = loaded->assess.has_ceiling;
  bench->slice = bw_event_empty();
  bench->nothing = bw_event_empty();
  bench->tally = bw_tally_start(judge);
  bench->lamp = bw_lamp_make(loaded->assess.lamp_on, loaded->assess.lamp_filter);
  bench->cascade = bw_cascade_start(judge, uses_machine);
  bench->balance = bw_balance_start(judge);
  bench->bound = bw_bound_start(judge);
  bench->ceiling = bw_ceiling_start(judge);
  bench->reach = bw_reach_start(judge, &bench->bound);
  bench->waterfall = bw_waterfall_start(judge);
  bench->events = bw_events_start(judge);
  bench->handovers = bw_handover_start(judge);
  bench->body = bw_body_start(judge);
  bench->disc_heat = bw_disc_heat_start(judge);
  BW_TRY(bw_gap_start(&bench->gap, judge, diag));
  return bw_trace_band_start(&loaded->trace, &bench->band, diag);
}

/* what this braking period adds to the row of its event */
static void fill_slice(struct bw_bench *bench, const struct bw_sample *sample) {
  const struct bw_period *period = &bench->period;
  const struct bw_gap_period *gap = &bench->gap.period;
  const double margin = bench->balance.period_margin;
  const double none = (double)INFINITY;
  struct bw_event *slice = &bench->slice;
  slice->distance = sample->distance;
  slice->deceleration_peak = sample->deceleration;
  slice->demanded = period->demanded;
  slice->delivered = period->delivered;
  slice->machine_axle = period->machine;
  slice->battery = period->battery;
  slice->friction_front = period->friction[BW_FRONT];
  slice->friction_rear = period->friction[BW_REAR];
  slice->recoverable_plant = bench->bound.period_plant;
  slice->recoverable_rule = bench->bound.period_rule;
  slice->dip_peak = gap->dip_peak;
  slice->dip_peak_time = gap->dip_peak_time;
  slice->surge_peak = gap->surge_peak;
  slice->time_above_felt = gap->felt_time;
  slice->speed_not_taken_off = gap->dip_speed;
  slice->gap_jerk_peak = gap->jerk_peak;
  slice->violation_time = bench->balance.period_violation;
  slice->axle_margin_worst = isless(margin, none) ? margin : none; /* the margin may be NaN */
}

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  struct bw_bench *bench = context;
  const struct bw_period *period = &bench->period;
  bw_period_read(&bench->judge, sample, &bench->period);
  bw_tally_watch(&bench->tally, sample);
  bw_ledger_watch(&bench->ledger, sample);
  bw_lamp_watch(&bench->lamp, sample);
  bw_trace_band_watch(&bench->band, sample);
  bw_gap_watch(&bench->gap, sample, period);
  if (bench->body.is_judged) {
    bw_body_watch(&bench->body, sample);
  }
  bw_disc_heat_watch(&bench->disc_heat, sample);
  bw_balance_watch(&bench->balance, sample, period);
  if (period->is_braking) {
    bw_bound_watch(&bench->bound, sample, period);
  }
  if (bench->has_ceiling) {
    bw_ceiling_watch(&bench->ceiling, &bench->bound, sample, period);
    BW_TRY(bw_reach_watch(&bench->reach, sample, period, diag));
  }
  if (!period->is_braking && bw_events_current(&bench->events) == 0) {
    return BW_OK;
  }
  const struct bw_event *slice = &bench->nothing;
  if (period->is_braking) {
    bw_cascade_watch(&bench->cascade, sample, period);
    bw_waterfall_watch(&bench->waterfall, &bench->bound, sample, period);
    fill_slice(bench, sample);
    slice = &bench->slice;
  }
  BW_TRY(bw_events_watch(&bench->events, sample, slice, diag));
  return bw_handover_watch(&bench->handovers, sample, period, &bench->gap.period,
                           bw_events_current(&bench->events), diag);
}

static enum bw_status finish(struct bw_bench *bench, const struct bw_blend_strategy *strategy,
                             struct bw_evaluation *out, struct bw_diag *diag) {
  const struct bw_case *loaded = bench->judge.loaded;
  struct bw_summary *summary = &out->summary;
  (void)snprintf(summary->strategy, sizeof summary->strategy, "%s", strategy->name);
  (void)snprintf(summary->balance_rule, sizeof summary->balance_rule, "%s",
                 loaded->assess.balance_rule);
  bw_tally_finish(&bench->tally, summary);
  bw_lamp_finish(&bench->lamp, summary);
  bw_trace_band_finish(&bench->band, summary);
  bw_gap_finish(&bench->gap, loaded->assess.jerk_cutoff, summary);
  bw_body_finish(&bench->body, summary);
  bw_disc_heat_finish(&bench->disc_heat, summary);
  bw_balance_finish(&bench->balance, summary);
  bw_bound_finish(&bench->bound, summary);
  bw_ceiling_finish(&bench->ceiling, summary);
  BW_TRY(bw_reach_finish(&bench->reach, summary, diag));
  bw_cascade_finish(&bench->cascade, summary);
  BW_TRY(bw_events_finish(&bench->events, summary, diag));
  BW_TRY(bw_handover_finish(&bench->handovers, summary, diag));
  BW_TRY(bw_ledger_finish(&bench->ledger, summary, &out->ledger, diag));
  bw_verdict_judge(loaded, summary);
  return BW_OK;
}

/* the lists change hands */
static void hand_over_lists(struct bw_bench *bench, struct bw_evaluation *out) {
  bw_waterfall_finish(&bench->waterfall, &out->waterfall);
  out->event_count = bench->events.count;
  out->events = bench->events.list;
  out->handover_count = bench->handovers.count;
  out->handovers = bench->handovers.list;
  bench->events.list = NULL;
  bench->handovers.list = NULL;
}

static enum bw_status run(struct bw_bench *bench, const struct bw_blend_strategy *strategy,
                          const struct bw_observer *extra, struct bw_evaluation *out,
                          struct bw_diag *diag) {
  const struct bw_case *loaded = bench->judge.loaded;
  double *params = NULL;
  if (strategy->param_count > 0) {
    params = bw_alloc(strategy->param_count, sizeof *params);
    if (params == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "no memory for the parameters of '%s'", strategy->name);
    }
    bw_case_strategy_params(loaded, strategy, params);
  }
  struct bw_observer observers[2] = {{.context = bench, .watch = watch}};
  if (extra != NULL) {
    observers[1] = *extra;
  }
  enum bw_status status = bw_run(loaded, strategy, params, observers, extra != NULL ? 2 : 1, diag);
  bw_free(params);
  if (status == BW_OK) {
    status = finish(bench, strategy, out, diag);
  }
  return status;
}

enum bw_status bw_evaluate(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                           const struct bw_observer *extra, struct bw_evaluation *out,
                           struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  struct bw_bench *bench = bw_alloc(1, sizeof *bench);
  if (bench == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory to judge a run; close other programs");
  }
  enum bw_status status = start(loaded, strategy, bench, diag);
  if (status == BW_OK) {
    status = run(bench, strategy, extra, out, diag);
  }
  if (status == BW_OK) {
    hand_over_lists(bench, out);
  } else {
    memset(out, 0, sizeof *out);
  }
  bw_reach_free(&bench->reach);
  bw_events_free(&bench->events);
  bw_handover_free(&bench->handovers);
  bw_trace_band_free(&bench->band);
  bw_free(bench);
  return status;
}

void bw_evaluation_free(struct bw_evaluation *evaluation) {
  bw_free(evaluation->events);
  bw_free(evaluation->handovers);
  memset(evaluation, 0, sizeof *evaluation);
}
