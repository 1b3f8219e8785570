/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/waterfall.h"

#include "attributes.h"

#include <math.h>

enum { SETS = BW_WATERFALL_BATTERY + 1, ALL_SETS = (1 << SETS) - 1 };

static const double KMH = 3.6;

const char *bw_waterfall_name(enum bw_waterfall_step step) {
  static const char *const name_of[BW_WATERFALL_COUNT] = {
#define BW_WATERFALL_NAME(id, name) name,
      BW_WATERFALL_STEPS(BW_WATERFALL_NAME)
#undef BW_WATERFALL_NAME
  };
  return (size_t)step < BW_WATERFALL_COUNT ? name_of[step] : "unknown";
}

double bw_waterfall_edge_kmh(size_t bin) {
  static const double edge[BW_WATERFALL_BINS] = {0.0, 10.0, 20.0, 30.0, 50.0, 70.0, 100.0, 130.0};
  return bin < BW_WATERFALL_BINS ? edge[bin] : (double)INFINITY;
}

struct bw_waterfall_bin bw_waterfall_total(const struct bw_waterfall *waterfall) {
  struct bw_waterfall_bin total = {0};
  for (size_t b = 0; b < BW_WATERFALL_BINS; b++) {
    const struct bw_waterfall_bin *bin = &waterfall->bin[b];
    total.delivered += bin->delivered;
    total.cells += bin->cells;
    for (size_t i = 0; i < BW_WATERFALL_COUNT; i++) {
      total.step[i] += bin->step[i];
      total.last_in[i] += bin->last_in[i];
    }
  }
  return total;
}

struct bw_waterfall_keeper bw_waterfall_start(const struct bw_judge *judge) {
  return (struct bw_waterfall_keeper){.judge = judge};
}

static bool has(unsigned sets, enum bw_waterfall_step step) {
  return (sets & 1U << step) != 0;
}

/* the envelope with those of its factors that count; without the envelope itself its factors
 * have nothing to act on, except a low-speed limit of nothing */
static double envelope_cap(const struct bw_waterfall_moment *moment, int axle, unsigned sets) {
  const bool is_hot = has(sets, BW_WATERFALL_DERATING);
  const bool is_slow = has(sets, BW_WATERFALL_LOW_SPEED);
  if (!has(sets, BW_WATERFALL_ENVELOPE)) {
    return is_slow && !(moment->cool_slow[axle] > 0.0) && moment->cool[axle] > 0.0 ? 0.0
                                                                                   : moment->torque;
  }
  if (is_slow) {
    return is_hot ? moment->limit[axle] : moment->cool_slow[axle];
  }
  return is_hot ? moment->hot[axle] : moment->cool[axle];
}

/* torque (N m) of one machine up to `most` that sends no more than `power` */
static double take(const struct bw_bound_machine *machine, double speed, double most,
                   double power) {
  const double omega = machine->omega * speed;
  const double asked = machine->shaft * most;
  if (asked * omega <= power) {
    return most;
  }
  const double shaft = bw_machine_torque_for_power(machine->machine, omega, power, asked);
  return shaft < asked ? shaft / machine->shaft : most;
}

static double generated(const struct bw_bound_machine *machine, double speed, double torque) {
  return bw_machine_generated(machine->machine, machine->omega * speed, machine->shaft * torque);
}

/* torque of the machines when `first` is filled before the other one and both keep the power;
 * the other one, switched on, already draws its no-load loss */
static double fill(const struct bw_bound *bound, const struct bw_waterfall_moment *moment,
                   const double cap[2], int first) {
  const struct bw_bound_machine *one = &bound->machine[first];
  const struct bw_bound_machine *other = &bound->machine[1 - first];
  const bool has_other = cap[1 - first] > 0.0;
  const double v = moment->speed;
  double power = moment->power;
  double sum = 0.0;
  if (cap[first] > 0.0) {
    const double spare = has_other ? -generated(other, v, 0.0) : 0.0;
    sum = take(one, v, cap[first], power + spare);
    power -= generated(one, v, sum);
  }
  const double rest = bw_min(cap[1 - first], moment->torque - sum);
  return has_other && rest > 0.0 ? sum + take(other, v, rest, power) : sum;
}

/* most torque of one axle's machine within the sets, battery not considered */
static double axle_cap(const struct bw_bound *bound, const struct bw_waterfall_moment *moment,
                       int axle, unsigned sets) {
  if (bound->machine[axle].machine == NULL) {
    return 0.0;
  }
  double cap = bw_min(envelope_cap(moment, axle, sets), moment->torque);
  if (has(sets, BW_WATERFALL_SPLIT)) {
    cap = bw_min(cap, moment->split[axle]);
  }
  if (has(sets, BW_WATERFALL_RULE)) {
    cap = bw_min(cap, moment->rule[axle]);
  }
  return cap;
}

/* most torque of both machines when the battery may not take all that they could give */
BW_RARE static double fill_best(const struct bw_bound *bound,
                                const struct bw_waterfall_moment *moment, double front,
                                double rear) {
  const double cap[2] = {front, rear};
  return bw_max(fill(bound, moment, cap, BW_FRONT), fill(bound, moment, cap, BW_REAR));
}

double bw_waterfall_torque(const struct bw_bound *bound, const struct bw_waterfall_moment *moment,
                           unsigned sets) {
  const double front = axle_cap(bound, moment, BW_FRONT, sets);
  const double rear = axle_cap(bound, moment, BW_REAR, sets);
  const double open = bw_min(moment->torque, front + rear);
  /* no more than the shafts can carry reaches the battery: mostly there is nothing to search */
  if (!has(sets, BW_WATERFALL_BATTERY) ||
      bound->per_speed_most * moment->speed * open <= moment->power) {
    return open;
  }
  return fill_best(bound, moment, front, rear);
}

/* torque limit at the axle in a condition other than the run's */
static double limit_at(const struct bw_bound_machine *machine, double omega, double speed,
                       double temperature, double charge) {
  const struct bw_machine_condition condition = {
      .speed = speed, .omega = omega, .temperature = temperature, .state_of_charge = charge};
  enum bw_limit binding = BW_LIMIT_NONE;
  return bw_machine_brake_limit(machine->machine, &condition, &binding) / machine->shaft;
}

/* the envelope as it was, and without those of heat and low speed that lowered it */
static void fill_envelopes(const struct bw_bound_machine *machine, const struct bw_sample *sample,
                           int axle, struct bw_waterfall_moment *moment) {
  const double limit = sample->axle[axle].envelope;
  moment->limit[axle] = moment->hot[axle] = limit;
  moment->cool[axle] = moment->cool_slow[axle] = limit;
  if (machine->machine == NULL) {
    return;
  }
  const double temperature = sample->axle[axle].machine_temperature;
  const bool is_hot = temperature > machine->machine->derate_start;
  const bool is_slow = moment->speed < machine->machine->low_speed_full;
  if (!is_hot && !is_slow) {
    return;
  }
  const double omega = sample->axle[axle].omega;
  const double fast = (double)INFINITY;
  const double hot = limit_at(machine, omega, fast, temperature, sample->charge);
  const double cool = limit_at(machine, omega, fast, 0.0, sample->charge);
  const double slow = limit_at(machine, omega, moment->speed, 0.0, sample->charge);
  moment->hot[axle] = is_slow ? bw_max(limit, hot) : limit;
  moment->cool_slow[axle] = is_hot ? bw_max(limit, slow) : limit;
  moment->cool[axle] = bw_max(cool, bw_max(moment->hot[axle], moment->cool_slow[axle]));
}

/* tyre work of one axle's machine: its part of the slip loss belongs to it */
static double realised_work(const struct bw_sample_axle *axle, double delivered) {
  const double braked = axle->machine_work + axle->friction_work;
  return braked > 0.0 ? delivered * (axle->machine_work / braked) : 0.0;
}

/* No machine's envelope is the least of its caps: without it, or without one of its factors, which
 * only lower it, the torque is the same. */
static bool has_slack(const struct bw_bound *bound, const struct bw_waterfall_moment *moment) {
  for (int i = 0; i < 2; i++) {
    const double other = bw_min(moment->torque, bw_min(moment->split[i], moment->rule[i]));
    if (bound->machine[i].machine != NULL && moment->limit[i] < other) {
      return false;
    }
  }
  return true;
}

/* J per N m; the steps of the sets and their last-in values */
static double take_sets(const struct bw_bound *bound, const struct bw_waterfall_moment *moment,
                        double work_per_torque, struct bw_waterfall_bin *bin) {
  const double last = bw_waterfall_torque(bound, moment, ALL_SETS);
  double before = moment->torque;
  if (!(last < before)) {
    return last * work_per_torque; /* nothing is lost in any set */
  }
  const bool is_slack = has_slack(bound, moment);
  unsigned sets = 0;
  for (unsigned j = 0; j < SETS; j++) {
    sets |= 1U << j;
    /* nothing is lost between here and the last set: no need to ask */
    const double now =
        before <= last || sets == ALL_SETS ? last : bw_waterfall_torque(bound, moment, sets);
    bin->step[j] += (before - now) * work_per_torque;
    before = now;
    if (is_slack && j >= BW_WATERFALL_ENVELOPE && j <= BW_WATERFALL_LOW_SPEED) {
      continue;
    }
    const double lifted = bw_waterfall_torque(bound, moment, (unsigned)ALL_SETS & ~(1U << j));
    bin->last_in[j] += (lifted - last) * work_per_torque;
  }
  return last * work_per_torque;
}

/* steps of which the last-in value is the step itself, see bw_waterfall_finish() */
static void take_rest(struct bw_waterfall_bin *bin, const struct bw_sample *sample,
                      const double realised[2], double last, double asked_most) {
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  const double asked = bw_min(asked_most, last);
  const double tyre = realised[0] + realised[1];
  const double inside = bw_min(tyre, last);
  bin->step[BW_WATERFALL_NOT_ASKED] += last - asked;
  bin->step[BW_WATERFALL_OUTSIDE] += inside - tyre;
  bin->step[BW_WATERFALL_LAG] += asked - inside;
  bin->step[BW_WATERFALL_TYRE] += tyre - front->machine_work - rear->machine_work;
  bin->step[BW_WATERFALL_DRIVE] += front->drive_work + rear->drive_work;
  bin->step[BW_WATERFALL_GEAR] += front->gear_loss + rear->gear_loss;
  bin->step[BW_WATERFALL_MACHINE] += front->machine_loss + rear->machine_loss;
  bin->step[BW_WATERFALL_AUXILIARIES] += sample->auxiliaries_work;
  bin->step[BW_WATERFALL_RESISTANCE] += sample->resistance_loss + sample->rc_work;
}

static size_t bin_of(double speed) {
  size_t bin = BW_WATERFALL_BINS - 1;
  while (bin > 0 && speed * KMH < bw_waterfall_edge_kmh(bin)) {
    bin--;
  }
  return bin;
}

void bw_waterfall_watch(struct bw_waterfall_keeper *keeper, const struct bw_bound *bound,
                        const struct bw_sample *sample, const struct bw_period *period) {
  if (!period->is_braking) {
    return;
  }
  const double radius = keeper->judge->radius;
  const double distance = sample->distance;
  struct bw_waterfall_moment moment; /* filled here and by fill_envelopes() */
  moment.speed = distance / sample->duration;
  moment.power = sample->charge_power;
  struct bw_waterfall_bin *bin = &keeper->found.bin[bin_of(moment.speed)];
  double realised[2];
  double asked = 0.0;
  for (int i = 0; i < 2; i++) {
    const double delivered = period->delivered_axle[i];
    moment.split[i] = distance > 0.0 ? delivered * radius / distance : 0.0;
    realised[i] = realised_work(&sample->axle[i], delivered);
    asked += bw_max(0.0, sample->axle[i].machine_command);
    fill_envelopes(&bound->machine[i], sample, i, &moment);
  }
  moment.torque = moment.split[0] + moment.split[1];
  moment.rule[0] = bound->period_cap[0];
  moment.rule[1] = bound->period_cap[1];
  bin->delivered += period->delivered;
  bin->cells += sample->cells_work;
  const double last = take_sets(bound, &moment, distance / radius, bin);
  take_rest(bin, sample, realised, last, asked * distance / radius);
}

void bw_waterfall_finish(const struct bw_waterfall_keeper *keeper, struct bw_waterfall *found) {
  *found = keeper->found;
  for (size_t b = 0; b < BW_WATERFALL_BINS; b++) {
    for (size_t i = SETS; i < BW_WATERFALL_COUNT; i++) {
      found->bin[b].last_in[i] = found->bin[b].step[i];
    }
  }
}
