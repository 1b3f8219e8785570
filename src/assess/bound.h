/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BOUND_H
#define BW_BOUND_H

#include "assess/period.h"
#include "assess/summary.h"

/** What could have been recovered, moment by moment, from the braking that was delivered.
 *
 *  Per braking period the best admissible split between the machines:
 *    max of min(sum P_dc,i(T_i), P_charge) - P_aux  over 0 <= T_i <= limit_i, sum T_i <= T
 *  with T the torque that does the delivered work at the road, limit_i the machine's envelope
 *  (peak torque and power, field, speed, derating, low speed), shaft speed v/r x ratio and no lag,
 *  no slew limit, no tyre slip. Assumption: state of charge, temperatures and pulse budget are
 *  those of the run. A machine gated off when idle costs nothing at zero torque, an energised one
 *  its no-load loss.
 *
 *  The rule's variant adds: some split of the brake forces between front and rear keeps the
 *  balance rule (see balance.h) and |F_i| <= mu N_i, and no machine takes more than its axle's
 *  part of it. Where no split is admissible (braking beyond the road's grip) the split with equal
 *  use of adhesion is taken. */

struct bw_bound_machine {
  const struct bw_machine *machine; /**< NULL where none is fitted */
  double per_speed; /**< P = per_speed v T - drag T^2 - P0; 1/m, gear efficiency over radius */
  double drag;      /**< W/(N m)^2 at the axle */
  double shaft;     /**< shaft torque per axle torque */
  double omega;     /**< rad/s of the shaft per m/s */
  bool has_map;
};

/** Limits of one moment. */
struct bw_bound_moment {
  double speed;    /**< m/s */
  double torque;   /**< N m, most that both machines may take together */
  double limit[2]; /**< N m at the axle */
};

struct bw_bound {
  const struct bw_judge *judge;
  struct bw_bound_machine machine[2];
  int only;              /**< axle of the only machine, -1 when there are two or none */
  double per_speed_most; /**< greatest per_speed */
  double weight;
  double slope;
  double adhesion;
  double period_cap[2]; /**< N m, bw_bound_rule_caps() of the last watched braking period */
  double period_plant;  /**< J, of the last watched period */
  double period_rule;
  double plant; /**< J over the run */
  double rule;
};

/** Borrows `judge`, which must stay where it is. */
struct bw_bound bw_bound_start(const struct bw_judge *judge);

/** Greatest DC power (W) of both machines together at one moment, charge limit not considered. */
double bw_bound_power(const struct bw_bound *bound, const struct bw_bound_moment *moment);

/** The same, and the torques (N m at the axle) that give it. */
double bw_bound_split(const struct bw_bound *bound, const struct bw_bound_moment *moment,
                      double torque[2]);

/** Most torque (N m) that each axle may take in *sample under rule and grip. */
void bw_bound_rule_caps(const struct bw_bound *bound, const struct bw_sample *sample,
                        double cap[2]);

void bw_bound_watch(struct bw_bound *bound, const struct bw_sample *sample,
                    const struct bw_period *period);
void bw_bound_finish(const struct bw_bound *bound, struct bw_summary *summary);

#endif
