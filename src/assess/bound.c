/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/bound.h"

#include "assess/balance.h"

#include <math.h>

enum { MAP_GRID = 16, MAP_HALVINGS = 40 };

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
  if (machine->machine == NULL || machine->machine->is_gated_off_idle) {
    return 0.0;
  }
  return no_load(machine, speed);
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

static double alone(const struct bw_bound_machine *machine, double speed, double most) {
  return generated(machine, speed, best_torque(machine, speed, most));
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

/* the same with loss maps: front torque `front`, best rear torque in what is left */
static double with_front(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                         double front) {
  const double rest = bw_min(moment->limit[BW_REAR], bw_max(0.0, moment->torque - front));
  return generated(&bound->machine[BW_FRONT], moment->speed, front) +
         alone(&bound->machine[BW_REAR], moment->speed, rest);
}

/* grid over the front torque, then golden section around the best point: a map's power need not
 * be concave, so the grid decides which hill is climbed */
static double both_map(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                       double torque[2]) {
  const double most = bw_min(moment->limit[BW_FRONT], moment->torque);
  const double cell = most / MAP_GRID;
  double best = with_front(bound, moment, 0.0);
  int place = 0;
  for (int i = 1; i <= MAP_GRID; i++) {
    const double power = with_front(bound, moment, (double)i * cell);
    if (power > best) {
      best = power;
      place = i;
    }
  }
  const double golden = 0.5 * (sqrt(5.0) - 1.0);
  double low = bw_max(0.0, (double)(place - 1) * cell);
  double high = bw_min(most, (double)(place + 1) * cell);
  torque[BW_FRONT] = (double)place * cell;
  for (int i = 0; i < MAP_HALVINGS; i++) {
    const double width = golden * (high - low);
    const double left = with_front(bound, moment, high - width);
    const double right = with_front(bound, moment, low + width);
    if (bw_max(left, right) > best) {
      best = bw_max(left, right);
      torque[BW_FRONT] = left < right ? low + width : high - width;
    }
    if (left < right) {
      low = high - width;
    } else {
      high = low + width;
    }
  }
  const double rest =
      bw_min(moment->limit[BW_REAR], bw_max(0.0, moment->torque - torque[BW_FRONT]));
  torque[BW_REAR] = best_torque(&bound->machine[BW_REAR], moment->speed, rest);
  return best;
}

double bw_bound_split(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                      double torque[2]) {
  const struct bw_bound_machine *machine = bound->machine;
  const double v = moment->speed;
  const double off[2] = {idle(&machine[0], v), idle(&machine[1], v)};
  double best = off[0] + off[1];
  torque[0] = torque[1] = 0.0;
  for (int i = 0; i < 2; i++) {
    if (machine[i].machine != NULL) {
      const double most = best_torque(&machine[i], v, bw_min(moment->limit[i], moment->torque));
      const double power = generated(&machine[i], v, most) + off[1 - i];
      if (power > best) {
        best = power;
        torque[i] = most;
        torque[1 - i] = 0.0;
      }
    }
  }
  if (machine[0].machine != NULL && machine[1].machine != NULL) {
    const bool has_map = machine[0].has_map || machine[1].has_map;
    double both[2];
    const double power =
        has_map ? both_map(bound, moment, both) : both_polynomial(bound, moment, both);
    if (power > best) {
      best = power;
      torque[0] = both[0];
      torque[1] = both[1];
    }
  }
  return best;
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
