/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/reach_path.h"

#include "assess/growth.h"

#include <math.h>

/* s, longest stage of driving: nothing is decided in it */
static const double DRIVING_STAGE = 10.0;
/* halvings of the factor that brings torques down to a power: 2^-40 of a torque is nothing */
enum { HALVINGS = 40 };
/* share by which driving may draw more than the battery's limit: the run itself does, where a
 * torque lags behind a falling limit */
static const double DRAW_MARGIN = 0.02;

/* the blend on its way */
struct path {
  const struct bw_reach *reach;
  const struct bw_battery *battery;
  const struct bw_reach_plan *plan;
  bool has_rule;
  struct bw_battery_state state;
  double temperature[2]; /* K */
  size_t stage;          /* number of the present one */
  double energy;         /* J */
  bool was_held;
};

/* N m at the axle, as hot as this blend has made the machine */
static double own_limit(const struct path *path, const struct bw_reach_moment *moment, int i) {
  const struct bw_machine *machine = &path->reach->judge->loaded->machine[i];
  if (!machine->is_fitted) {
    return 0.0;
  }
  const bool is_hot = path->temperature[i] > machine->derate_start;
  if (!is_hot && !moment->was_derated[i] && machine->torque_table.nx == 0) {
    return moment->limit[i];
  }
  const struct bw_machine_condition condition = {.speed = moment->speed,
                                                 .omega = moment->omega[i],
                                                 .temperature = path->temperature[i],
                                                 .state_of_charge = path->state.charge};
  enum bw_limit binding = BW_LIMIT_NONE;
  return bw_machine_brake_limit(machine, &condition, &binding) * machine->ratio /
         machine->efficiency;
}

static double shaft_power(const struct bw_bound_machine *machine, double speed, double torque) {
  if (machine->machine == NULL || (machine->machine->is_gated_off_idle && !(torque > 0.0))) {
    return 0.0;
  }
  return bw_machine_generated(machine->machine, machine->omega * speed, machine->shaft * torque);
}

/* power of both with the slip that their own torque makes, W */
static double real_power(const struct path *path, const struct bw_reach_moment *moment,
                         const double torque[2]) {
  double power = 0.0;
  for (int i = 0; i < 2; i++) {
    const double rolling = 1.0 - bw_min(1.0, moment->slip[i] * torque[i]);
    power += shaft_power(&path->reach->bound->machine[i], moment->speed * rolling, torque[i]);
  }
  return power;
}

/* bring both torques down until they send no more than `most` W */
static double hold_back(const struct path *path, const struct bw_reach_moment *moment, double most,
                        double torque[2]) {
  double low = 0.0;
  double high = 1.0;
  double power = 0.0;
  for (int k = 0; k < HALVINGS; k++) {
    const double middle = 0.5 * (low + high);
    const double part[2] = {middle * torque[0], middle * torque[1]};
    const double sent = real_power(path, moment, part);
    if (sent <= most) {
      low = middle;
      power = sent;
    } else {
      high = middle;
    }
  }
  torque[0] *= low;
  torque[1] *= low;
  return low > 0.0 ? power : real_power(path, moment, torque);
}

/* The current that the plan likes best, see reach_plan.h: with what charge (x) and budget (y) are
 * worth, I (U + R I) + x I / C - y I^2 is greatest at I = (U + x / C) / (2 (y - R)). */
static double planned_power(const struct path *path, const struct bw_battery_limits *limits) {
  const struct bw_battery *battery = path->battery;
  const struct bw_battery_state *state = &path->state;
  const struct bw_reach_worth worth =
      bw_reach_plan_worth(path->plan, path->stage, state->charge, state->pulse_budget);
  const double resistance =
      bw_table2_along(&battery->resistance, state->held.resistance, state->charge);
  const double voltage = bw_table1_at(&battery->ocv, state->charge) + state->rc_voltage;
  const double rise = voltage + worth.charge / battery->capacity;
  double current = rise > 0.0 ? limits->charge_current : 0.0;
  if (worth.budget > resistance && rise > 0.0) {
    current = bw_min(current, 0.5 * rise / (worth.budget - resistance));
  }
  /* a full budget keeps nothing of what is held back below the continuous current */
  if (rise > 0.0 && state->pulse_budget >= state->held.budget) {
    current = bw_max(current, bw_min(state->held.continuous, limits->charge_current));
  }
  return current * (voltage + resistance * current);
}

static void warm(struct path *path, const double loss[2], double duration) {
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &path->reach->judge->loaded->machine[i];
    if (machine->is_fitted) {
      const double away = machine->cooling * (path->temperature[i] - machine->coolant_temperature);
      path->temperature[i] += (loss[i] - away) * duration / machine->heat_capacity;
    }
  }
}

static bool advance(struct path *path, double power, double duration) {
  struct bw_battery_step step;
  return bw_battery_advance(path->battery, &path->state, power, duration, &step) == BW_OK;
}

/* W at the terminals that machines and pedal alone would let this blend send */
static double best_split(const struct path *path, const struct bw_reach_moment *moment,
                         double torque[2]) {
  struct bw_bound_moment limits = {.speed = moment->speed, .torque = moment->room};
  for (int i = 0; i < 2; i++) {
    limits.limit[i] = own_limit(path, moment, i);
    if (path->has_rule) {
      limits.limit[i] = bw_min(limits.limit[i], moment->rule[i]);
    }
  }
  const double power = bw_bound_split(path->reach->bound, &limits, torque);
  return bw_min(power, real_power(path, moment, torque));
}

/* one braking period; gives W at the terminals, battery not considered */
static bool brake(struct path *path, const struct bw_reach_moment *moment, double drawn,
                  double duration, double *wanted) {
  const double auxiliaries = path->battery->auxiliaries;
  struct bw_battery_limits limits;
  bw_battery_limits(path->battery, &path->state, &limits);
  double torque[2];
  double power = best_split(path, moment, torque);
  *wanted = power - auxiliaries - drawn;
  double most = limits.charge_power + auxiliaries;
  path->was_held = path->was_held || power > most;
  if (path->plan != NULL) {
    most = bw_min(most, planned_power(path, &limits) + auxiliaries);
  }
  if (power > most) {
    power = hold_back(path, moment, most, torque);
  }
  double loss[2] = {0.0, 0.0};
  for (int i = 0; i < 2; i++) {
    const struct bw_bound_machine *machine = &path->reach->bound->machine[i];
    if (machine->machine != NULL) {
      loss[i] = bw_machine_loss(machine->machine, machine->omega * moment->speed,
                                machine->shaft * torque[i], torque[i] > 0.0);
    }
  }
  warm(path, loss, duration);
  const double sent = power - auxiliaries - drawn;
  path->energy += sent * duration;
  return advance(path, sent, duration);
}

static bool drive(struct path *path, const struct bw_reach_period *period, double duration) {
  struct bw_battery_limits limits;
  bw_battery_limits(path->battery, &path->state, &limits);
  const double power = (double)period->power;
  if (-power > (1.0 + DRAW_MARGIN) * limits.discharge_power) {
    return false;
  }
  warm(path, (const double[]){(double)period->loss[0], (double)period->loss[1]}, duration);
  return advance(path, power, duration);
}

/* where the stages begin is fixed by the first blend, later ones keep to it */
static bool begins_stage(const struct bw_reach_log *log, const struct bw_reach_period *period) {
  if (log->count == 0) {
    return true;
  }
  const struct bw_reach_stage *now = &log->stages[log->count - 1];
  const double most = period->is_braking ? log->longest : DRIVING_STAGE;
  return now->is_braking != period->is_braking || now->duration >= most * (1.0 - 1e-9);
}

static enum bw_status begin_stage(const struct path *path, struct bw_reach_log *log, size_t first,
                                  struct bw_diag *diag) {
  void *list = log->stages;
  BW_TRY(bw_growth_reserve(&list, &log->capacity, log->count, sizeof *log->stages, diag));
  log->stages = list;
  log->stages[log->count++] =
      (struct bw_reach_stage){.first = first,
                              .rc = path->state.rc_voltage,
                              .is_braking = path->reach->periods[first].is_braking};
  return BW_OK;
}

static void note(struct bw_reach_log *log, double wanted, double duration, double before,
                 double after) {
  struct bw_reach_stage *now = &log->stages[log->count - 1];
  const double whole = now->duration + duration;
  now->power += (wanted - now->power) * duration / whole;
  now->duration = whole;
  log->gained += now->is_braking ? bw_max(0.0, after - before) : 0.0;
  log->charge[0] = bw_min(log->charge[0], after);
  log->charge[1] = bw_max(log->charge[1], after);
}

static void find_stage(struct path *path, size_t period) {
  const struct bw_reach_log *log = path->plan->log;
  while (path->stage + 1 < log->count && log->stages[path->stage + 1].first <= period) {
    path->stage++;
  }
}

enum bw_status bw_reach_follow(const struct bw_reach *reach, bool has_rule,
                               const struct bw_reach_plan *plan, struct bw_reach_log *log,
                               struct bw_reach_end *end, struct bw_diag *diag) {
  const struct bw_case *loaded = reach->judge->loaded;
  struct path path = {
      .reach = reach, .battery = &loaded->battery, .plan = plan, .has_rule = has_rule};
  path.state = bw_battery_start(&loaded->battery);
  for (int i = 0; i < 2; i++) {
    path.temperature[i] = loaded->machine[i].start_temperature;
  }
  if (log != NULL) {
    log->charge[0] = log->charge[1] = path.state.charge;
  }
  size_t moment = 0;
  bool is_fine = true;
  for (size_t k = 0; k < reach->count && is_fine; k++) {
    const struct bw_reach_period *period = &reach->periods[k];
    const double duration = k + 1 < reach->count ? reach->duration : reach->last_duration;
    const double before = path.state.charge;
    double wanted = (double)period->power;
    if (log != NULL && begins_stage(log, period)) {
      BW_TRY(begin_stage(&path, log, k, diag));
    }
    if (plan != NULL) {
      find_stage(&path, k);
    }
    is_fine = period->is_braking
                  ? brake(&path, &reach->moments[moment++], wanted, duration, &wanted)
                  : drive(&path, period, duration);
    if (log != NULL) {
      note(log, wanted, duration, before, path.state.charge);
    }
  }
  *end = (struct bw_reach_end){.energy = is_fine ? path.energy : (double)NAN,
                               .was_held = path.was_held};
  return BW_OK;
}
