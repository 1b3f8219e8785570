/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/reach.h"

#include "assess/growth.h"
#include "assess/reach_path.h"
#include "assess/reach_plan.h"

#include <math.h>

const struct bw_reach_grid BW_REACH_GRID = {
    .charges = 25, .budgets = 13, .levels = 9, .stage = 0.5};

/* a run is cut into no more stages of braking than this */
static const double STAGES_MOST = 4000.0;

struct bw_reach bw_reach_start(const struct bw_judge *judge, const struct bw_bound *bound) {
  return (struct bw_reach){.judge = judge, .bound = bound};
}

void bw_reach_free(struct bw_reach *reach) {
  bw_free(reach->periods);
  bw_free(reach->moments);
  *reach = (struct bw_reach){0};
}

static bool applies(const struct bw_case *loaded) {
  return loaded->assess.has_ceiling && loaded->fidelity == BW_FIDELITY_ROLLING &&
         loaded->fault.kind == BW_FAULT_NONE;
}

/* Most torque per axle inside the rule. With one pressure friction F comes at the front share s,
 * and the front axle has M_f + s F; taken with the other machine at rest, whose torque only moves
 * the axle away from its line. */
static void rule_limits(const struct bw_reach *reach, const struct bw_sample *sample, double torque,
                        double limit[2]) {
  const struct bw_brakes *brakes = &reach->judge->loaded->brakes;
  bw_bound_rule_caps(reach->bound, sample, limit);
  if (brakes->layout == BW_LAYOUT_PER_AXLE) {
    return;
  }
  const double gain[2] = {brakes->axle[0].per_pressure, brakes->axle[1].per_pressure};
  const double sum = gain[0] + gain[1];
  for (int i = 0; i < 2; i++) {
    const double own = sum > 0.0 ? gain[i] / sum : 0.5;
    const double left = limit[i] - own * torque;
    limit[i] = own < 1.0 ? bw_max(0.0, left / (1.0 - own)) : 0.0;
  }
}

static struct bw_reach_moment read_moment(const struct bw_reach *reach,
                                          const struct bw_sample *sample,
                                          const struct bw_period *period) {
  const struct bw_case *loaded = reach->judge->loaded;
  const double radius = reach->judge->radius;
  const double distance = sample->distance;
  struct bw_reach_moment moment = {
      .speed = distance / sample->duration,
      .torque = distance > 0.0 ? period->delivered * radius / distance : 0.0,
  };
  moment.room = moment.torque;
  if (loaded->brakes.layout == BW_LAYOUT_PEDAL_COUPLED) {
    const double floor = sample->demand_pedal / (1.0 + loaded->brakes.parallel_ratio);
    moment.room = bw_max(0.0, moment.torque - floor);
  }
  rule_limits(reach, sample, moment.torque, moment.rule);
  const double least_load = BW_LIFTED_LOAD_SHARE * reach->judge->mass * BW_GRAVITY;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    const double load = bw_max(axle->load, least_load);
    moment.limit[i] = axle->envelope;
    moment.omega[i] = axle->omega;
    moment.slip[i] = 1.0 / (load * loaded->vehicle.slip_stiffness * radius);
    moment.was_derated[i] = axle->machine_temperature > loaded->machine[i].derate_start;
  }
  return moment;
}

static enum bw_status add_moment(struct bw_reach *reach, const struct bw_reach_moment *moment,
                                 struct bw_diag *diag) {
  void *list = reach->moments;
  BW_TRY(bw_growth_reserve(&list, &reach->braking_capacity, reach->braking_count,
                           sizeof *reach->moments, diag));
  reach->moments = list;
  reach->moments[reach->braking_count++] = *moment;
  return BW_OK;
}

enum bw_status bw_reach_watch(struct bw_reach *reach, const struct bw_sample *sample,
                              const struct bw_period *period, struct bw_diag *diag) {
  const struct bw_case *loaded = reach->judge->loaded;
  if (!applies(loaded)) {
    return BW_OK;
  }
  void *list = reach->periods;
  BW_TRY(bw_growth_reserve(&list, &reach->capacity, reach->count, sizeof *reach->periods, diag));
  reach->periods = list;
  reach->duration = reach->count == 0 ? sample->duration : reach->duration;
  reach->last_duration = sample->duration;
  double power = sample->battery_work;
  if (period->is_braking) {
    const struct bw_reach_moment moment = read_moment(reach, sample, period);
    BW_TRY(add_moment(reach, &moment, diag));
    power = 0.0;
  }
  struct bw_reach_period now = {.is_braking = period->is_braking};
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    if (machine->is_fitted && period->is_braking) {
      power += sample->axle[i].drive_work / machine->efficiency;
    }
    now.loss[i] = (float)(sample->axle[i].machine_loss / sample->duration);
  }
  now.power = (float)(power / sample->duration);
  reach->periods[reach->count++] = now;
  return BW_OK;
}

static enum bw_status find_planned(const struct bw_reach *reach, bool has_rule,
                                   const struct bw_reach_log *log, const struct bw_reach_grid *grid,
                                   double *energy, struct bw_diag *diag) {
  struct bw_reach_plan plan;
  BW_TRY(bw_reach_plan_make(&reach->judge->loaded->battery, log, grid, &plan, diag));
  struct bw_reach_end end;
  const enum bw_status status = bw_reach_follow(reach, has_rule, &plan, NULL, &end, diag);
  bw_reach_plan_free(&plan);
  *energy = end.energy;
  return status;
}

enum bw_status bw_reach_find(const struct bw_reach *reach, bool has_rule,
                             const struct bw_reach_grid *grid, double *energy,
                             struct bw_diag *diag) {
  const double whole = (double)reach->count * reach->duration;
  struct bw_reach_log log = {.longest = bw_max(grid->stage, whole / STAGES_MOST)};
  struct bw_reach_end end = {0};
  enum bw_status status = bw_reach_follow(reach, has_rule, NULL, &log, &end, diag);
  *energy = end.energy;
  if (status == BW_OK && end.was_held && isfinite(end.energy)) {
    double planned = 0.0;
    status = find_planned(reach, has_rule, &log, grid, &planned, diag);
    *energy = planned > end.energy ? planned : end.energy;
  }
  bw_free(log.stages);
  return status;
}

enum bw_status bw_reach_finish(const struct bw_reach *reach, struct bw_summary *summary,
                               struct bw_diag *diag) {
  static const enum bw_summary_column column[2] = {BW_SUMMARY_ENERGY_REACHED_PLANT,
                                                   BW_SUMMARY_ENERGY_REACHED_RULE};
  for (int i = 0; i < 2; i++) {
    double energy = (double)NAN;
    if (applies(reach->judge->loaded)) {
      BW_TRY(bw_reach_find(reach, i == 1, &BW_REACH_GRID, &energy, diag));
    }
    summary->value[column[i]] = energy * 1e-3;
  }
  return BW_OK;
}
