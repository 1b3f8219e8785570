/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/bound.h"

#include "assess/balance.h"

#include <math.h>

static struct bw_bound_machine make_machine(const struct bw_machine *machine, double radius) {
  if (!machine->is_fitted) {
    return (struct bw_bound_machine){0};
  }
  const double shaft = machine->efficiency / machine->ratio;
  return (struct bw_bound_machine){
      .machine = machine,
      .per_speed = machine->efficiency / radius,
      .drag = machine->loss_kt * shaft * shaft,
      .shaft = shaft,
      .omega = machine->ratio / radius,
      .has_map = machine->loss_map.nx > 0,
  };
}

struct bw_bound bw_bound_start(const struct bw_judge *judge) {
  const struct bw_case *loaded = judge->loaded;
  struct bw_bound bound = {
      .judge = judge,
      .weight = judge->mass * BW_GRAVITY,
      .slope = loaded->assess.balance_slope,
      .adhesion = loaded->vehicle.adhesion,
  };
  for (int i = 0; i < 2; i++) {
    bound.machine[i] = make_machine(&loaded->machine[i], judge->radius);
  }
  const bool has_front = bound.machine[BW_FRONT].machine != NULL;
  const bool has_rear = bound.machine[BW_REAR].machine != NULL;
  bound.per_speed_most =
      bw_max(bound.machine[BW_FRONT].per_speed, bound.machine[BW_REAR].per_speed);
  bound.only = has_front == has_rear ? -1 : has_front ? BW_FRONT : BW_REAR;
  return bound;
}

/* DC power of one machine, W, that is switched on */
static double generated(const struct bw_bound_machine *machine, double speed, double torque) {
  return bw_machine_generated(machine->machine, machine->omega * speed, machine->shaft * torque);
}

static double no_load(const struct bw_bound_machine *machine, double speed) {
  return generated(machine, speed, 0.0);
}

/* power with no torque: an idle machine may be gated off */
static double idle(const struct bw_bound_machine *machine, double speed) {
  return machine->machine->is_gated_off_idle ? 0.0 : no_load(machine, speed);
}

/* best torque of one machine alone, 0..most */
static double best_torque(const struct bw_bound_machine *machine, double speed, double most) {
  if (machine->has_map) {
    return bw_machine_best_torque(machine->machine, machine->omega * speed, machine->shaft * most) /
           machine->shaft;
  }
  const double rise = machine->per_speed * speed;
  return rise < 2.0 * machine->drag * most ? rise / (2.0 * machine->drag) : most;
}

/* both machines on, polynomial losses: equal marginal power, then the limits */
static double both_polynomial(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                              double torque[2]) {
  const struct bw_bound_machine *front = &bound->machine[BW_FRONT];
  const struct bw_bound_machine *rear = &bound->machine[BW_REAR];
  const double v = moment->speed;
  double front_torque = best_torque(front, v, moment->limit[BW_FRONT]);
  double rear_torque = best_torque(rear, v, moment->limit[BW_REAR]);
  if (front_torque + rear_torque > moment->torque) {
    const double t = moment->torque;
    const double rise = (front->per_speed - rear->per_speed) * v;
    const double bend = 2.0 * (front->drag + rear->drag);
    const double low = bw_max(0.0, t - moment->limit[BW_REAR]);
    const double high = bw_min(t, moment->limit[BW_FRONT]);
    const double numerator = rise + 2.0 * rear->drag * t;
    /* compare products: without any copper loss everything goes to the better gear */
    front_torque = numerator <= low * bend    ? low
                   : numerator >= high * bend ? high
                                              : numerator / bend;
    rear_torque = t - front_torque;
  }
  torque[BW_FRONT] = front_torque;
  torque[BW_REAR] = rear_torque;
  return generated(front, v, front_torque) + generated(rear, v, rear_torque);
}

/* the best pair of torques found so far, both machines on */
struct pair_search {
  const struct bw_bound *bound;
  const struct bw_bound_moment *moment;
  double power;
  double torque[2];
};

/* `torque` on `axle`, the best torque in what is left on the other */
static void try_torque(struct pair_search *search, int axle, double torque) {
  const struct bw_bound_moment *moment = search->moment;
  const struct bw_bound_machine *one = &search->bound->machine[axle];
  const struct bw_bound_machine *other = &search->bound->machine[1 - axle];
  const double left = bw_max(0.0, moment->torque - torque);
  const double rest = best_torque(other, moment->speed, bw_min(moment->limit[1 - axle], left));
  const double power =
      generated(one, moment->speed, torque) + generated(other, moment->speed, rest);
  if (power > search->power) {
    search->power = power;
    search->torque[axle] = torque;
    search->torque[1 - axle] = rest;
  }
}

/* torques of `axle`, losses by the polynomial, at which its marginal power equals the slope of a
 * line of the other machine's map */
static void try_equal_margins(struct pair_search *search, int axle, double most) {
  const struct bw_bound_machine *one = &search->bound->machine[axle];
  const struct bw_bound_machine *other = &search->bound->machine[1 - axle];
  const struct bw_table2 *map = &other->machine->loss_map;
  const double omega = other->omega * search->moment->speed;
  if (!(one->drag > 0.0)) {
    return;
  }
  for (size_t j = 0; j + 1 < map->ny; j++) {
    const double gain = bw_machine_generated(other->machine, omega, map->y[j + 1]) -
                        bw_machine_generated(other->machine, omega, map->y[j]);
    const double slope = gain * map->per_y[j] * other->shaft;
    const double torque = (one->per_speed * search->moment->speed - slope) / (2.0 * one->drag);
    try_torque(search, axle, bw_max(0.0, bw_min(most, torque)));
  }
}

/* The same with a loss map, exact. At one speed a map's power is a chain of straight lines over
 * torque, a polynomial's bends downwards: where both machines stay on one line each, the greatest
 * sum within T_f + T_r <= T and the limits has one machine at the end of its line or at its limit,
 * the other one at its best within what is left; or, line against polynomial, equal marginal
 * powers. All of these are tried. */
static double both_map(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                       double torque[2]) {
  struct pair_search search = {.bound = bound, .moment = moment, .power = -(double)INFINITY};
  for (int i = 0; i < 2; i++) {
    const struct bw_bound_machine *machine = &bound->machine[i];
    const struct bw_table2 *map = &machine->machine->loss_map;
    const double most = bw_min(moment->limit[i], moment->torque);
    try_torque(&search, i, 0.0);
    try_torque(&search, i, most);
    if (!machine->has_map) {
      try_equal_margins(&search, i, most);
      continue;
    }
    for (size_t j = 0; j < map->ny && map->y[j] < machine->shaft * most; j++) {
      try_torque(&search, i, bw_max(0.0, map->y[j] / machine->shaft));
    }
  }
  torque[BW_FRONT] = search.torque[BW_FRONT];
  torque[BW_REAR] = search.torque[BW_REAR];
  return search.power;
}

/* one machine: nothing to split; *torque is what it takes */
static double split_one(const struct bw_bound_machine *machine, double speed, double limit,
                        double *torque) {
  const double off = idle(machine, speed);
  const double most = best_torque(machine, speed, limit);
  const double power = generated(machine, speed, most);
  *torque = power > off ? most : 0.0;
  return power > off ? power : off;
}

/* two machines: either one alone, or both */
static double split_two(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                        double torque[2]) {
  const struct bw_bound_machine *machine = bound->machine;
  const double v = moment->speed;
  const double off[2] = {idle(&machine[0], v), idle(&machine[1], v)};
  double best = off[0] + off[1];
  for (int i = 0; i < 2; i++) {
    const double most = best_torque(&machine[i], v, bw_min(moment->limit[i], moment->torque));
    const double power = generated(&machine[i], v, most) + off[1 - i];
    if (power > best) {
      best = power;
      torque[i] = most;
      torque[1 - i] = 0.0;
    }
  }
  const bool has_map = machine[0].has_map || machine[1].has_map;
  double both[2];
  const double power =
      has_map ? both_map(bound, moment, both) : both_polynomial(bound, moment, both);
  if (power > best) {
    best = power;
    torque[0] = both[0];
    torque[1] = both[1];
  }
  return best;
}

double bw_bound_split(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                      double torque[2]) {
  torque[0] = torque[1] = 0.0;
  if (bound->only >= 0) {
    const double limit = bw_min(moment->limit[bound->only], moment->torque);
    return split_one(&bound->machine[bound->only], moment->speed, limit, &torque[bound->only]);
  }
  return bound->machine[BW_FRONT].machine != NULL ? split_two(bound, moment, torque) : 0.0;
}

double bw_bound_power(const struct bw_bound *bound, const struct bw_bound_moment *moment) {
  double torque[2];
  return bw_bound_split(bound, moment, torque);
}

void bw_bound_rule_caps(const struct bw_bound *bound, const struct bw_sample *sample,
                        double cap[2]) {
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  const double force = front->brake_force + rear->brake_force;
  const double z = force / bound->weight;
  const double line = bw_balance_line(z, bound->slope);
  /* front force between `low` and `high` keeps every rule */
  const double front_most = bw_min(line * front->load_level, bound->adhesion * front->load);
  const double rear_most = bw_min(line * rear->load_level, bound->adhesion * rear->load);
  const double equal = force * front->load_level / (front->load_level + rear->load_level);
  const bool is_ordered = z >= BW_BALANCE_ORDER_FROM && z <= BW_BALANCE_ORDER_TO;
  double low = bw_max(is_ordered ? equal : 0.0, force - rear_most);
  double high = bw_min(force, front_most);
  if (!(low <= high)) {
    low = equal;
    high = equal;
  }
  /* the spinning wheels slow down too: the torque that makes a contact force is larger */
  const double spin = sample->deceleration / bound->judge->radius;
  const double most[2] = {high, force - low};
  for (int i = 0; i < 2; i++) {
    cap[i] = bw_max(0.0, most[i] * bound->judge->radius + bound->judge->inertia[i] * spin);
  }
}

static double battery_work(const struct bw_bound *bound, const struct bw_sample *sample,
                           const struct bw_bound_moment *moment) {
  const double power = bw_min(bw_bound_power(bound, moment), sample->charge_power);
  return power * sample->duration - sample->auxiliaries_work;
}

void bw_bound_watch(struct bw_bound *bound, const struct bw_sample *sample,
                    const struct bw_period *period) {
  bound->period_plant = 0.0;
  bound->period_rule = 0.0;
  if (!period->is_braking) {
    return;
  }
  const double distance = sample->distance;
  struct bw_bound_moment moment = {
      .speed = distance / sample->duration,
      .torque = distance > 0.0 ? period->delivered * bound->judge->radius / distance : 0.0,
      .limit = {sample->axle[0].envelope, sample->axle[1].envelope},
  };
  bound->period_plant = battery_work(bound, sample, &moment);
  double *cap = bound->period_cap;
  bw_bound_rule_caps(bound, sample, cap);
  bound->period_rule = bound->period_plant;
  const double most[2] = {bw_min(moment.limit[0], moment.torque),
                          bw_min(moment.limit[1], moment.torque)};
  if (most[0] > cap[0] || most[1] > cap[1]) {
    moment.limit[0] = bw_min(moment.limit[0], cap[0]);
    moment.limit[1] = bw_min(moment.limit[1], cap[1]);
    bound->period_rule = battery_work(bound, sample, &moment);
  }
  bound->plant += bound->period_plant;
  bound->rule += bound->period_rule;
}

void bw_bound_finish(const struct bw_bound *bound, struct bw_summary *summary) {
  summary->value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT] = bound->plant * 1e-3;
  summary->value[BW_SUMMARY_ENERGY_RECOVERABLE_RULE] = bound->rule * 1e-3;
}
