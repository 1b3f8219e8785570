/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_LOSS_CURVE_H
#define BW_LOSS_CURVE_H

#include "blend_common.h"

/** Power that a machine with a loss map sends into the DC link over its axle torque, at one speed:
 *
 *    P(T) = rise T - L(T),   rise = efficiency v / r,   L from the map: straight between its points
 *
 *  a chain of straight lines. Its greatest value under a limit lies at a corner or at the limit;
 *  that of the sum of two chains under a limit of the sum has at least one of them at a corner or
 *  an end. Both are found by comparing all of these: exact, and in a bounded number of steps. */

/** What does not change during a run: the map's torques as torques of the axle. */
struct loss_axis {
  size_t count;                           /**< points above zero torque; 0: no map */
  size_t skipped;                         /**< points of the map at zero torque, 0 or 1 */
  size_t row;                             /**< interval of the last speed */
  double torque[BW_BLEND_LOSS_POINTS];    /**< N m at the axle, > 0 (count) */
  double per_width[BW_BLEND_LOSS_POINTS]; /**< 1/(N m), over the line that ends there (count) */
};

/** `shaft`: shaft torque per axle torque. */
static inline void loss_axis_start(struct loss_axis *axis, const struct bw_blend_loss_map *map,
                                   double shaft) {
  axis->count = axis->skipped = axis->row = 0;
  for (size_t j = 0; j < map->torques; j++) {
    if (!(map->torque[j] > 0.0)) {
      axis->skipped = 1;
      continue;
    }
    const double from = axis->count > 0 ? axis->torque[axis->count - 1] : 0.0;
    axis->torque[axis->count] = map->torque[j] / shaft;
    axis->per_width[axis->count] = 1.0 / (axis->torque[axis->count] - from);
    axis->count++;
  }
}

enum { LOSS_CURVE_NODES = BW_BLEND_LOSS_POINTS + 2 };

/** The chain from zero torque to a limit. */
struct loss_curve {
  size_t count;
  double torque[LOSS_CURVE_NODES]; /**< N m at the axle, rising from 0 (count) */
  double power[LOSS_CURVE_NODES];  /**< W (count) */
  double slope[LOSS_CURVE_NODES];  /**< W/(N m), of the line that begins there */
  size_t best[LOSS_CURVE_NODES];   /**< the node of greatest power up to here (count) */
};

/** Where a machine is put: its torque and what it sends then. */
struct loss_point {
  double torque; /**< N m at the axle */
  double power;  /**< W */
};

/* values of the map at shaft speed `omega`, held outside its speeds: loss[0] at zero torque, the
 * others at the axis's points */
static inline void loss_curve_row(struct loss_axis *axis, const struct bw_blend_loss_map *map,
                                  double omega, double *loss) {
  size_t row = axis->row;
  while (row > 0 && omega < map->speed[row]) {
    row--;
  }
  while (row + 2 < map->speeds && omega >= map->speed[row + 1]) {
    row++;
  }
  axis->row = row;
  const size_t next = row + 1 < map->speeds ? row + 1 : row;
  const double *low = map->loss + row * map->torques;
  const double *high = map->loss + next * map->torques;
  double share = 0.0;
  if (omega > map->speed[row] && next > row) {
    const double width = map->speed[next] - map->speed[row];
    share = blend_smaller(1.0, (omega - map->speed[row]) / width);
  }
  loss[0] = low[0] + share * (high[0] - low[0]);
  for (size_t j = 0; j < axis->count; j++) {
    const size_t k = j + axis->skipped;
    loss[j + 1] = low[k] + share * (high[k] - low[k]);
  }
}

/** The chain at shaft speed `omega` (rad/s) for torques 0 .. `end` (N m, >= 0). */
static inline void loss_curve_make(struct loss_axis *axis, const struct bw_blend_loss_map *map,
                                   double omega, double rise, double end,
                                   struct loss_curve *curve) {
  double loss[LOSS_CURVE_NODES];
  loss_curve_row(axis, map, omega, loss);
  size_t n = 0;
  double at = 0.0;
  double power = -loss[0];
  size_t best = 0;
  for (; n < axis->count && axis->torque[n] < end; n++) {
    const double slope = rise - (loss[n + 1] - loss[n]) * axis->per_width[n];
    curve->torque[n] = at;
    curve->power[n] = power;
    curve->slope[n] = slope;
    best = power > curve->power[best] ? n : best;
    curve->best[n] = best;
    at = axis->torque[n];
    power = at * rise - loss[n + 1];
  }
  const double change = n < axis->count ? (loss[n + 1] - loss[n]) * axis->per_width[n] : 0.0;
  curve->torque[n] = at;
  curve->power[n] = power;
  curve->slope[n] = rise - change;
  curve->best[n] = power > curve->power[best] ? n : best;
  if (end > at) {
    curve->torque[n + 1] = end;
    curve->power[n + 1] = power + curve->slope[n] * (end - at);
    curve->slope[n + 1] = 0.0;
    best = curve->best[n];
    curve->best[n + 1] = curve->power[n + 1] > curve->power[best] ? n + 1 : best;
    n++;
  }
  curve->count = n + 1;
}

/** Best point at torques 0 .. `limit`. `*node` is the last node to look at, and becomes the one at
 *  or below the limit: limits that fall can be asked for one after the other. */
static inline struct loss_point loss_curve_within(const struct loss_curve *curve, double limit,
                                                  size_t *node) {
  size_t k = *node;
  while (k > 0 && curve->torque[k] > limit) {
    k--;
  }
  *node = k;
  const size_t best = curve->best[k];
  if (k + 1 < curve->count && limit > curve->torque[k]) {
    const double power = curve->power[k] + curve->slope[k] * (limit - curve->torque[k]);
    if (power > curve->power[best]) {
      return (struct loss_point){limit, power};
    }
  }
  return (struct loss_point){curve->torque[best], curve->power[best]};
}

/** Power at `torque`, which lies on the chain. */
static inline double loss_curve_power(const struct loss_curve *curve, double torque) {
  size_t k = curve->count - 1;
  while (k > 0 && curve->torque[k] > torque) {
    k--;
  }
  return curve->power[k] + curve->slope[k] * (torque - curve->torque[k]);
}

/* every node of chain `one`, the other one at its best within what is left of `total`; the best
 * pair goes to put[], the machine of `one` first */
static inline void loss_curve_try(const struct loss_curve *one, const struct loss_curve *other,
                                  double total, struct loss_point put[2]) {
  size_t node = other->count - 1;
  for (size_t i = 0; i < one->count; i++) {
    const double left = total - one->torque[i];
    const struct loss_point rest = loss_curve_within(other, left, &node);
    if (one->power[i] + rest.power > put[0].power + put[1].power) {
      put[0] = (struct loss_point){one->torque[i], one->power[i]};
      put[1] = rest;
    }
  }
}

/** Two chains that end at or below `total` (N m): the pair that sends most. */
static inline void loss_curve_pair(const struct loss_curve curve[2], double total,
                                   struct loss_point put[2]) {
  const size_t best[2] = {curve[0].best[curve[0].count - 1], curve[1].best[curve[1].count - 1]};
  if (curve[0].torque[best[0]] + curve[1].torque[best[1]] <= total) {
    for (int i = 0; i < 2; i++) { /* each at its own best */
      put[i] = (struct loss_point){curve[i].torque[best[i]], curve[i].power[best[i]]};
    }
    return;
  }
  struct loss_point swapped[2] = {{0.0, -(double)INFINITY}, {0.0, 0.0}};
  put[0] = swapped[0];
  put[1] = swapped[1];
  loss_curve_try(&curve[0], &curve[1], total, put);
  loss_curve_try(&curve[1], &curve[0], total, swapped);
  if (swapped[0].power + swapped[1].power > put[0].power + put[1].power) {
    put[0] = swapped[1];
    put[1] = swapped[0];
  }
}

/** A machine without a map: P(T) = T (rise - bend T) - no_load for torques 0 .. `most`, up to which
 *  more torque sends more. */
struct loss_parabola {
  double rise;
  double bend;
  double no_load;
  double most;
};

static inline struct loss_point loss_parabola_within(const struct loss_parabola *parabola,
                                                     double limit) {
  const double torque = blend_smaller(limit, parabola->most);
  const double sent = torque * (parabola->rise - parabola->bend * torque);
  return (struct loss_point){torque, sent - parabola->no_load};
}

/** The pair of a chain that ends at or below `total` and a parabola: on each line of the chain its
 *  ends, and where, `total` used up, both marginal powers are equal. */
static inline void loss_curve_with_parabola(const struct loss_curve *curve,
                                            const struct loss_parabola *parabola, double total,
                                            struct loss_point *chain, struct loss_point *other) {
  *chain = (struct loss_point){0.0, -(double)INFINITY};
  *other = (struct loss_point){0.0, 0.0};
  /* NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult): one has a map */
  for (size_t i = 0; i < curve->count; i++) {
    const double from = curve->torque[i];
    const double to = i + 1 < curve->count ? curve->torque[i + 1] : from;
    const double gain = parabola->rise - curve->slope[i];
    const double twice = 2.0 * parabola->bend;
    /* without a bend and with less gain than the line: never equal, all to the chain */
    const double cross = twice > 0.0 ? gain / twice : -(double)INFINITY;
    const double equal = gain < twice * parabola->most ? cross : parabola->most;
    const double tried[2] = {from, blend_clip(total - equal, from, to)};
    for (int k = 0; k < 2; k++) {
      const double sent = curve->power[i] + curve->slope[i] * (tried[k] - from);
      const struct loss_point rest = loss_parabola_within(parabola, total - tried[k]);
      if (sent + rest.power > chain->power + other->power) {
        *chain = (struct loss_point){tried[k], sent};
        *other = rest;
      }
    }
  }
}

#endif
