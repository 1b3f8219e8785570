/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CEILING_H
#define BW_CEILING_H

#include "assess/bound.h"

/** A ceiling that no blend of the braking delivered can exceed, whatever its history.
 *
 *  Per braking period the best split as in bound.h, but machines cool, a torque table over the
 *  state of charge at its best charge, the pulse budget full, and the charge limit the greatest in
 *  the box of charge and RC voltage that any blend could have brought the battery to: driving as
 *  in the run, all the braking delivered into the battery without loss, or none of it and both
 *  machines at their greatest losses. Assumptions: the same braking is delivered and the same
 *  driving power drawn, no tyre slip, losses that do not fall when torque rises (the run takes
 *  those of a map at the root mean square torque of a period), and no machine gives more than its
 *  envelope of the moment (a lag may carry a torque a little past a falling envelope).
 *
 *  Charge limit of a cell of the box, U in [U1, U2] and R in [R1, R2]: the power I (U + R I) rises
 *  with both until U + R I_p meets V_max and falls from there on, so it is I_p V_max where the
 *  cell meets that line, else taken at the corner next to it. */

/** What the battery may have come to. */
struct bw_ceiling_box {
  double charge[2]; /**< lowest and highest, 0..1 */
  double rc[2];     /**< V */
};

struct bw_ceiling {
  const struct bw_judge *judge;
  double resistance_most; /**< ohm, over all charges */
  double torque_most[2];  /**< N m at the shaft, at any speed and charge */
  struct bw_battery_held held;
  struct bw_ceiling_box box;
  struct bw_ceiling_box known_box; /**< for which `known_power` holds */
  double known_power;              /**< W at the terminals */
  double known_duration;           /**< s, for which `known_gone` holds */
  double known_gone;               /**< share by which the RC voltage relaxes in a period */
  double per_ampere;               /**< charge moved by 1 A in a period, 1/A */
  double per_duration;             /**< 1/s */
  /** The ends of the box as they were when their voltage was looked up. */
  struct bw_ceiling_end {
    double charge;
    double rc;       /**< V */
    double voltage;  /**< V behind the resistance, at the safe side */
    double per_volt; /**< 1/V */
  } end[2];
  double plant; /**< J over the run */
  double rule;
};

enum { BW_CEILING_CELLS = 128 };

struct bw_ceiling bw_ceiling_start(const struct bw_judge *judge);

/** Greatest charging power (W, terminals) anywhere in `box`, pulse budget full; the range of
 *  charges is cut into `cells`. Never too low; more cells bring it down to the true maximum. */
double bw_ceiling_charge_power(const struct bw_ceiling *ceiling, const struct bw_ceiling_box *box,
                               int cells);

/** To be called for every period, after bw_bound_watch() for braking ones. */
void bw_ceiling_watch(struct bw_ceiling *ceiling, const struct bw_bound *bound,
                      const struct bw_sample *sample, const struct bw_period *period);

void bw_ceiling_finish(const struct bw_ceiling *ceiling, struct bw_summary *summary);

#endif
