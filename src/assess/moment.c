/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/moment.h"

#include "alloc.h"
#include "assess/gap.h"

#include <math.h>
#include <string.h>

/* s; a time typed with three decimals shall meet the start of its period */
static const double ROUNDING = 1e-9;

struct finder {
  struct bw_judge judge;
  struct bw_gap gap;
  double at;
  struct bw_moment *moment;
};

static enum bw_status consult(void *context, const struct bw_blend_input *input,
                              const struct bw_blend_request *request, struct bw_diag *diag) {
  struct finder *finder = context;
  (void)diag;
  if (request == NULL) {
    finder->moment->input = *input;
  } else {
    finder->moment->request = *request;
  }
  return BW_OK;
}

static void fill_machine(const struct bw_case *loaded, int axle, struct bw_moment *moment) {
  const struct bw_machine *machine = &loaded->machine[axle];
  if (!machine->is_fitted) {
    return;
  }
  const struct bw_sample *sample = &moment->sample;
  const struct bw_machine_condition now = {.speed = 0.5 * (sample->speed_start + sample->speed_end),
                                           .omega = sample->axle[axle].omega,
                                           .temperature = sample->axle[axle].machine_temperature,
                                           .state_of_charge = sample->charge};
  struct bw_machine_condition fast = now;
  struct bw_machine_condition cold_and_fast = now;
  enum bw_limit unused = BW_LIMIT_NONE;
  fast.speed = cold_and_fast.speed = (double)INFINITY;
  cold_and_fast.temperature = 0.0;
  const double full = bw_machine_brake_limit(machine, &now, &unused);
  const double without_low_speed = bw_machine_brake_limit(machine, &fast, &unused);
  const double cool = bw_machine_brake_limit(machine, &cold_and_fast, &unused);
  struct bw_moment_machine *out = &moment->machine[axle];
  out->cool = cool * machine->ratio / machine->efficiency;
  out->derating_share = cool > 0.0 ? without_low_speed / cool : 1.0;
  out->low_speed_share = without_low_speed > 0.0 ? full / without_low_speed : 1.0;
}

static void fill_band(const struct finder *finder, struct bw_moment *moment) {
  const struct bw_sample *sample = &moment->sample;
  const size_t count = sample->substeps;
  moment->is_felt = finder->gap.period.time > 0.0;
  for (size_t i = 0; i < count; i++) {
    moment->delivered += sample->delivered[i] / (double)count;
    if (moment->is_felt) {
      moment->low += finder->gap.envelope.low[i] / (double)count;
      moment->high += finder->gap.envelope.high[i] / (double)count;
    }
  }
  moment->dip_peak = finder->gap.period.dip_peak;
  moment->surge_peak = finder->gap.period.surge_peak;
}

static void fill_balance(const struct finder *finder, struct bw_moment *moment) {
  const struct bw_sample_axle *axle = moment->sample.axle;
  const double force[2] = {axle[0].brake_force, axle[1].brake_force};
  const double load[2] = {axle[0].load_level, axle[1].load_level};
  const double slope = finder->judge.loaded->assess.balance_slope;
  if (!moment->period.is_braking || !(force[0] + force[1] > 0.0)) {
    return;
  }
  moment->is_balanced = true;
  moment->balance = bw_balance_check(force, load, finder->judge.mass * BW_GRAVITY, slope);
  moment->balance_line = bw_balance_line(moment->balance.braking_rate, slope);
}

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  struct finder *finder = context;
  struct bw_moment *moment = finder->moment;
  (void)diag;
  bw_period_read(&finder->judge, sample, &moment->period);
  bw_gap_watch(&finder->gap, sample, &moment->period);
  moment->end = sample->time + sample->duration;
  if (!(moment->end > finder->at + ROUNDING)) {
    return BW_OK;
  }
  moment->is_found = true;
  moment->sample = *sample;
  fill_band(finder, moment);
  fill_balance(finder, moment);
  for (int i = 0; i < BW_AXLES; i++) {
    fill_machine(finder->judge.loaded, i, moment);
  }
  return BW_E_LIMIT; /* far enough */
}

static enum bw_status find(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                           const struct bw_moment_search *search, struct finder *finder,
                           struct bw_diag *diag) {
  BW_TRY(bw_gap_start(&finder->gap, &finder->judge, diag));
  double *params = bw_alloc(strategy->param_count, sizeof *params);
  if (params == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory for the parameters of '%s'", strategy->name);
  }
  bw_case_strategy_params(loaded, strategy, params);
  struct bw_observer observers[2] = {{.context = finder, .watch = watch, .consult = consult}};
  if (search->guard != NULL) {
    observers[1] = *search->guard;
  }
  const enum bw_status status =
      bw_run(loaded, strategy, params, observers, search->guard != NULL ? 2 : 1, diag);
  bw_free(params);
  return status;
}

enum bw_status bw_moment_find(const struct bw_case *loaded,
                              const struct bw_blend_strategy *strategy,
                              const struct bw_moment_search *search, struct bw_moment *out,
                              struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  struct finder *finder = bw_alloc(1, sizeof *finder);
  if (finder == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory to look into a run; close other programs");
  }
  finder->judge = bw_judge_make(loaded);
  finder->at = search->at;
  finder->moment = out;
  const enum bw_status status = find(loaded, strategy, search, finder, diag);
  bw_free(finder);
  return out->is_found ? BW_OK : status;
}
