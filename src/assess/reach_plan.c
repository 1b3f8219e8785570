/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/reach_plan.h"

#include "alloc.h"

#include <math.h>

/* share of the range of charges by which the grid is wider */
static const double CHARGE_MARGIN = 0.02;
/* least width of the grid, so that a run which takes nothing divides by nothing */
static const double CHARGE_WIDTH_LEAST = 1e-6;

/* a place in the grid: cell and share on both axes */
struct place {
  size_t charge;
  size_t budget;
  double across; /* 0..1 */
  double up;
};

static double on_axis(double x, double cell, size_t points, size_t *index) {
  const double at = cell > 0.0 ? bw_max(0.0, x / cell) : 0.0;
  const size_t last = points > 1 ? points - 2 : 0;
  *index = at < (double)last ? (size_t)at : last;
  return points > 1 ? bw_min(1.0, at - (double)*index) : 0.0;
}

static struct place find_place(const struct bw_reach_plan *plan, double charge, double budget) {
  struct place place;
  place.across = on_axis(charge - plan->charge, plan->charge_cell, plan->charges, &place.charge);
  place.up = on_axis(budget, plan->budget_cell, plan->budgets, &place.budget);
  return place;
}

static const double *values_before(const struct bw_reach_plan *plan, size_t stage) {
  return plan->values + stage * plan->charges * plan->budgets;
}

/* values at the four corners of a cell */
static void corners(const struct bw_reach_plan *plan, size_t stage, const struct place *place,
                    double value[2][2]) {
  const double *all = values_before(plan, stage);
  const size_t up = plan->budgets > 1 ? 1 : 0;
  for (size_t i = 0; i < 2; i++) {
    const double *row = all + (place->charge + i) * plan->budgets + place->budget;
    value[i][0] = row[0];
    value[i][1] = row[up];
  }
}

static double value_at(const struct bw_reach_plan *plan, size_t stage, double charge,
                       double budget) {
  const struct place place = find_place(plan, charge, budget);
  double value[2][2];
  corners(plan, stage, &place, value);
  const double low = value[0][0] + place.up * (value[0][1] - value[0][0]);
  const double high = value[1][0] + place.up * (value[1][1] - value[1][0]);
  return low + place.across * (high - low);
}

struct bw_reach_worth bw_reach_plan_worth(const struct bw_reach_plan *plan, size_t stage,
                                          double charge, double budget) {
  const struct place place = find_place(plan, charge, budget);
  double value[2][2];
  corners(plan, stage + 1, &place, value);
  const double low = value[0][0] + place.up * (value[0][1] - value[0][0]);
  const double high = value[1][0] + place.up * (value[1][1] - value[1][0]);
  const double left = value[0][1] - value[0][0];
  const double right = value[1][1] - value[1][0];
  return (struct bw_reach_worth){
      .charge = (high - low) / plan->charge_cell,
      .budget = plan->budget_cell > 0.0 ? (left + place.across * (right - left)) / plan->budget_cell
                                        : 0.0,
  };
}

/* the battery at one point of the grid */
struct point {
  double charge;
  double budget;
  double voltage;    /* V behind the resistance */
  double resistance; /* ohm */
};

static double current_for(const struct point *point, double power) {
  const double u = point->voltage;
  const double radicand = u * u + 4.0 * point->resistance * power;
  return radicand > 0.0 ? 2.0 * power / (u + sqrt(radicand)) : -0.5 * u / point->resistance;
}

/* A: most that the battery takes at this point */
static double most_current(const struct bw_reach_plan *plan, const struct bw_battery_held *held,
                           const struct point *point) {
  const double faded = BW_PULSE_FADE * held->surplus * plan->battery->pulse_time;
  double current = held->continuous + held->extra;
  if (point->budget < faded) {
    current = held->continuous + held->extra * (point->budget / faded);
  }
  const double headroom = bw_max(0.0, plan->battery->voltage_max - point->voltage);
  return point->resistance * current > headroom ? headroom / point->resistance : current;
}

/* value of a stage in which the current is `current` */
static double try_current(const struct bw_reach_plan *plan, const struct bw_battery_held *held,
                          const struct point *point, size_t stage, double current) {
  const struct bw_reach_stage *now = &plan->log->stages[stage];
  const double charge = point->charge + current * now->duration / plan->battery->capacity;
  const double used = current > 0.0 ? current * current : 0.0;
  const double full = held->budget;
  const double left = point->budget + (held->continuous * held->continuous - used) * now->duration;
  const double sent =
      now->is_braking ? current * (point->voltage + point->resistance * current) : 0.0;
  return sent * now->duration + value_at(plan, stage + 1, charge, bw_max(0.0, bw_min(full, left)));
}

static double best_value(const struct bw_reach_plan *plan, const struct bw_battery_held *held,
                         const struct point *point, size_t stage, size_t levels) {
  const struct bw_reach_stage *now = &plan->log->stages[stage];
  const double wanted = current_for(point, now->power);
  if (!now->is_braking || !(wanted > 0.0)) {
    return try_current(plan, held, point, stage, wanted);
  }
  const double most = bw_min(wanted, most_current(plan, held, point));
  double best = try_current(plan, held, point, stage, most);
  for (size_t i = 0; i + 1 < levels; i++) {
    const double part = most * (double)i / (double)(levels - 1);
    best = bw_max(best, try_current(plan, held, point, stage, part));
  }
  return best;
}

static void plan_stage(struct bw_reach_plan *plan, const struct bw_battery_held *held, size_t stage,
                       size_t levels) {
  const struct bw_battery *battery = plan->battery;
  double *values = plan->values + stage * plan->charges * plan->budgets;
  for (size_t i = 0; i < plan->charges; i++) {
    struct point point = {.charge = plan->charge + (double)i * plan->charge_cell};
    point.voltage = bw_table1_at(&battery->ocv, point.charge) + plan->log->stages[stage].rc;
    point.resistance = bw_table2_along(&battery->resistance, held->resistance, point.charge);
    for (size_t j = 0; j < plan->budgets; j++) {
      point.budget = (double)j * plan->budget_cell;
      values[i * plan->budgets + j] = best_value(plan, held, &point, stage, levels);
    }
  }
}

enum bw_status bw_reach_plan_make(const struct bw_battery *battery, const struct bw_reach_log *log,
                                  const struct bw_reach_grid *grid, struct bw_reach_plan *plan,
                                  struct bw_diag *diag) {
  const struct bw_battery_state start = bw_battery_start(battery);
  const double full = start.held.budget;
  const double from = bw_max(0.0, log->charge[0] - log->gained);
  const double margin = CHARGE_MARGIN * (log->charge[1] - from) + CHARGE_WIDTH_LEAST;
  *plan = (struct bw_reach_plan){
      .battery = battery,
      .log = log,
      .charges = grid->charges,
      .budgets = full > 0.0 ? grid->budgets : 1,
      .charge = from - margin,
      .charge_cell = (log->charge[1] - from + 2.0 * margin) / (double)(grid->charges - 1),
      .budget_cell = full > 0.0 ? full / (double)(grid->budgets - 1) : 0.0,
  };
  const size_t points = plan->charges * plan->budgets;
  plan->values = bw_alloc((log->count + 1) * points, sizeof *plan->values);
  if (plan->values == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory to plan %zu stages; give a shorter cycle",
                   log->count);
  }
  for (size_t stage = log->count; stage > 0; stage--) {
    plan_stage(plan, &start.held, stage - 1, grid->levels);
  }
  return BW_OK;
}

void bw_reach_plan_free(struct bw_reach_plan *plan) {
  bw_free(plan->values);
  *plan = (struct bw_reach_plan){0};
}
