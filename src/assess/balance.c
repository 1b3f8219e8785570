/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/balance.h"

#include <math.h>

struct bw_balance_check bw_balance_check(const double force[2], const double load[2], double weight,
                                         double slope) {
  struct bw_balance_check check = {
      .braking_rate = (force[0] + force[1]) / weight,
      .used = {force[0] / load[0], force[1] / load[1]},
  };
  const double z = check.braking_rate;
  check.margin = bw_balance_line(z, slope) - bw_max(check.used[0], check.used[1]);
  if (z >= BW_BALANCE_ORDER_FROM && z <= BW_BALANCE_ORDER_TO) {
    check.margin = bw_min(check.margin, check.used[0] - check.used[1]);
  }
  return check;
}

struct bw_balance bw_balance_start(const struct bw_judge *judge) {
  const struct bw_case *loaded = judge->loaded;
  return (struct bw_balance){
      .weight = judge->mass * BW_GRAVITY,
      .slope = loaded->assess.balance_slope,
      /* wheels of their own cannot get more than there is: slip and locking tell */
      .adhesion =
          loaded->fidelity == BW_FIDELITY_SLIP ? (double)INFINITY : loaded->vehicle.adhesion,
      .violation_least = loaded->assess.balance_violation_time,
      .worst = (double)INFINITY,
  };
}

static void keep_worst(struct bw_balance *balance, double margin) {
  balance->period_margin = margin;
  if (margin < balance->worst) {
    balance->worst = margin;
  }
}

static void count_spell(struct bw_balance *balance, const struct bw_sample *sample, double margin,
                        double energy) {
  /* tolerance: sums of equal periods may end a rounding error short */
  const double least = balance->violation_least * (1.0 - 1e-9);
  const bool was_long = balance->spell_time > 0.0 && balance->spell_time >= least;
  if (!(balance->spell_time > 0.0) || margin < balance->spell_worst) {
    balance->spell_worst = margin;
  }
  balance->spell_time += sample->duration;
  balance->spell_energy += energy;
  if (!(balance->spell_time >= least)) {
    return;
  }
  const double time = was_long ? sample->duration : balance->spell_time;
  balance->period_violation = time;
  balance->time += time;
  balance->energy += was_long ? energy : balance->spell_energy;
  balance->count += was_long ? 0.0 : 1.0;
  keep_worst(balance, balance->spell_worst);
}

static bool has_slipped(const struct bw_balance *balance, const struct bw_sample *sample) {
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    if (fabs(axle->contact_force) > balance->adhesion * axle->load) {
      return true;
    }
  }
  return false;
}

void bw_balance_watch(struct bw_balance *balance, const struct bw_sample *sample,
                      const struct bw_period *period) {
  if (!sample->is_parked && has_slipped(balance, sample)) {
    balance->adhesion_time += sample->duration;
  }
  if (!period->is_braking) {
    balance->spell_time = 0.0;
    balance->spell_energy = 0.0;
    return;
  }
  balance->period_margin = (double)NAN;
  balance->period_violation = 0.0;
  const double force[2] = {sample->axle[0].brake_force, sample->axle[1].brake_force};
  if (!(force[0] + force[1] > 0.0)) {
    balance->spell_time = 0.0;
    balance->spell_energy = 0.0;
    return;
  }
  const double load[2] = {sample->axle[0].load_level, sample->axle[1].load_level};
  const struct bw_balance_check check =
      bw_balance_check(force, load, balance->weight, balance->slope);
  if (check.margin < 0.0) {
    count_spell(balance, sample, check.margin, period->delivered);
    return;
  }
  balance->spell_time = 0.0;
  balance->spell_energy = 0.0;
  if (isfinite(check.margin)) {
    keep_worst(balance, check.margin);
  }
}

void bw_balance_finish(const struct bw_balance *balance, struct bw_summary *summary) {
  double *value = summary->value;
  value[BW_SUMMARY_BALANCE_SLOPE] = balance->slope;
  value[BW_SUMMARY_AXLE_VIOLATIONS] = balance->count;
  value[BW_SUMMARY_AXLE_VIOLATION_TIME] = balance->time;
  value[BW_SUMMARY_AXLE_VIOLATION_ENERGY] = balance->energy * 1e-3;
  value[BW_SUMMARY_AXLE_MARGIN_WORST] = isfinite(balance->worst) ? balance->worst : (double)NAN;
  value[BW_SUMMARY_ADHESION_EXCEEDED] = balance->adhesion_time;
}
