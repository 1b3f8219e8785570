/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BALANCE_H
#define BW_BALANCE_H

#include "assess/period.h"
#include "assess/summary.h"

#include <math.h>

/** Axle balance from brake forces as delivered, on level-road loads.
 *
 *    z = (F_1 + F_2) / (m g),   f_i = F_i / N_i
 *    k line: z >= 0.1 + c (f_i - 0.2) for f_i from 0.2 to 0.8
 *    order:  f_1 >= f_2 for z from 0.15 to 0.8
 *
 *  Source: range of k and the line with c = 0.85 read in EU 2015/68 Annex II App. 1 4.1.1.1; order
 *  for category M1 read in 71/320/EEC Annex II App. 3.1.1, its allowances left out (UN R13-H has
 *  none as far as remembered). c = 0.7 of UN R13-H is from memory, so c is a parameter.
 *  Margin: smallest distance in f to a line that applies, positive when kept. More than 0.8 of
 *  adhesion used at a z where 0.8 would not be allowed counts as broken too. */

struct bw_balance_check {
  double braking_rate; /**< z */
  double used[2];      /**< f_1, f_2 */
  double margin;       /**< 1 */
};

/** Check brake forces (N) against axle loads (N) of a car of weight `weight` (N) for slope c. */
struct bw_balance_check bw_balance_check(const double force[2], const double load[2], double weight,
                                         double slope);

/** Most adhesion an axle may use at braking rate z on the k line; infinite where the line asks
 *  nothing more. */
static inline double bw_balance_line(double braking_rate, double slope) {
  const double above = braking_rate - 0.1;
  if (above >= slope * (0.8 - 0.2)) {
    return (double)INFINITY;
  }
  /* below z = 0.1 the line asks nothing of an axle that uses less than 0.2 */
  return above > 0.0 ? 0.2 + above / slope : 0.2;
}

/** Range of braking rates in which the order of the curves is asked for. */
#define BW_BALANCE_ORDER_FROM 0.15
#define BW_BALANCE_ORDER_TO   0.8

struct bw_balance {
  double weight; /**< N */
  double slope;
  double adhesion;
  double violation_least; /**< s, shorter spells are lag transients */
  double spell_time;      /**< s of the running spell below 0 */
  double spell_energy;    /**< J */
  double spell_worst;
  /* of the last braking period, NaN and 0 where nothing was found */
  double period_margin;    /**< worst margin that counts: kept, or of a spell long enough */
  double period_violation; /**< s of violation that became certain in this period */
  double count;
  double time;          /**< s */
  double energy;        /**< J */
  double worst;         /**< infinite while nothing was judged */
  double adhesion_time; /**< s with |contact force| above adhesion x load */
};

struct bw_balance bw_balance_start(const struct bw_judge *judge);
void bw_balance_watch(struct bw_balance *balance, const struct bw_sample *sample,
                      const struct bw_period *period);
void bw_balance_finish(const struct bw_balance *balance, struct bw_summary *summary);

#endif
