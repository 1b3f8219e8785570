/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_HOT_STAGES_H
#define BW_HOT_STAGES_H

#include "extrema.h"
#include "sim/hot.h"

/** The stages of one sub-step. Each is one loop over the lanes without branches; conditional
 *  expressions compile to minimum, maximum and select. */

/** Torques of one sub-step at the axles. */
struct bw_hot_torques {
  double machine[2][BW_LANES];  /**< N m, mean over the step */
  double friction[2][BW_LANES]; /**< N m, mean over the step */
  double total[BW_LANES];       /**< N m, all of them */
};

/** Sums over the steps that one kind of torque x needs for its work, with w = v0 + v1. */
struct bw_hot_moments {
  double torque[BW_LANES];  /**< N m, sum of x */
  double square[BW_LANES];  /**< (N m)^2, sum of x^2, machines only */
  double way[BW_LANES];     /**< N m m/s, sum of x w */
  double slipped[BW_LANES]; /**< (N m)^2 m/s, sum of T x w, T the torque of the axle */
};

/** Running sums of the loop. Machines that keep their sign count as `braking` throughout. */
struct bw_hot_totals {
  double way[BW_LANES];  /**< m/s, sum of w */
  double road[BW_LANES]; /**< m2/s2, sum of (speed the road takes beyond f0) x w */
  struct bw_hot_moments braking[2];
  struct bw_hot_moments driving[2];
  struct bw_hot_moments friction[2];
};

/** What is known of a whole sub-step when the loop is compiled. */
struct bw_hot_kind {
  bool is_calm;  /**< no limit, rate or guard binds and no machine changes its sign */
  bool is_mixed; /**< some delayed command changes inside this step */
};

/** Machine of axle `i`: delayed command, lag, slew limit, guard by the period's limits. Where the
 *  command changes inside the step, older and newer one act for their shares of it, each within
 *  the slew limit: limiting their mean instead would be of first order in the step. The shares 0
 *  and 1 of a lane in which nothing changes give the bits of the step that is not mixed. */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_machine(const struct bw_hot_coefficients *restrict c,
                               const struct bw_hot_period *restrict p,
                               struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                               const size_t i, size_t k, const struct bw_hot_kind kind) {
  const bool is_new = c->machine_is_new[i][k];
  for (size_t l = 0; l < BW_LANES; l++) {
    const double start = x->machine[i][l];
    const double gain = c->machine_gain[i][l];
    const double slew = c->machine_slew[i][l];
    const double old = p->machine_old[i][l];
    const double fresh = old + p->machine_step[i][l];
    double change = 0.0;
    if (kind.is_mixed) {
      const double older = (old - start) * gain;
      const double newer = (fresh - start) * gain;
      const double slow = kind.is_calm ? older : bw_max(bw_min(older, slew), -slew);
      const double fast = kind.is_calm ? newer : bw_max(bw_min(newer, slew), -slew);
      const double share = c->machine_new[i][k][l];
      change = slow * (1.0 - share) + fast * share;
    } else {
      const double free = ((is_new ? fresh : old) - start) * gain;
      change = kind.is_calm ? free : bw_max(bw_min(free, slew), -slew);
    }
    const double mean = start + change * c->machine_mean[i][l];
    const double end = start + change;
    const double most = p->machine_max[i][l];
    const double least = p->machine_min[i][l];
    t->machine[i][l] = kind.is_calm ? mean : bw_max(bw_min(mean, most), least);
    x->machine[i][l] = kind.is_calm ? end : bw_max(bw_min(end, most), least);
  }
}

/** Friction path of axle `i`: delayed pressure command, lag, rates, threshold, pads; a command
 *  that changes inside the step as in hot_machine(). */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_friction(const struct bw_hot_coefficients *restrict c,
                                const struct bw_hot_period *restrict p,
                                struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                                const size_t i, size_t k, const struct bw_hot_kind kind) {
  const bool is_new = c->friction_is_new[i][k];
  for (size_t l = 0; l < BW_LANES; l++) {
    const double start = x->pressure[i][l];
    const double gain = c->friction_gain[i][l];
    const double build = c->build[i][l];
    const double release = -c->release[i][l];
    const double old = p->friction_old[i][l];
    const double fresh = old + p->friction_step[i][l];
    double change = 0.0;
    if (kind.is_mixed) {
      const double older = (old - start) * gain;
      const double newer = (fresh - start) * gain;
      const double slow = kind.is_calm ? older : bw_max(bw_min(older, build), release);
      const double fast = kind.is_calm ? newer : bw_max(bw_min(newer, build), release);
      const double share = c->friction_new[i][k][l];
      change = slow * (1.0 - share) + fast * share;
    } else {
      const double free = ((is_new ? fresh : old) - start) * gain;
      change = kind.is_calm ? free : bw_max(bw_min(free, build), release);
    }
    const double mean = start + change * c->friction_mean[i][l];
    x->pressure[i][l] = start + change;
    t->friction[i][l] = bw_max(mean - c->threshold[i][l], 0.0) * p->friction_gain[i][l];
  }
}

/** Motion from the retarding torque `total` (N m): speed, and w = v0 + v1 for the works. Near
 *  standstill the step that passes zero ends at rest after t* = dt v0/(v0 - v1), with work over
 *  v0 t* / 2. */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_move(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p, struct bw_hot_state *restrict x,
                            struct bw_hot_totals *restrict s, const double *restrict total,
                            double *restrict w, const bool near_standstill) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double v0 = x->speed[l];
    /* the speed in the middle of the step, carried on from the last one; everything that does not
     * need it stands outside the chain from one speed to the next, which sets the pace */
    const double half = x->half_before[l];
    const double v_mid = 1.5 * v0 - half;
    const double constant = (p->slope_force[l] + c->road_f0[l]) * c->dt_per_mass[l];
    const double free = v0 - (total[l] * c->per_inertia[l] + constant);
    const double road = v_mid * (v0 * c->road_now[l] + (c->road_d1[l] - half * c->road_d2[l]));
    double v1 = free - road;
    double sum = v0 + v1;
    double half_before = 0.5 * v0;
    if (near_standstill) {
      const bool stops = v1 <= 0.0;
      /* divide only where the car does stop; at rest already: no time, no way */
      const double rate = stops && v0 > 0.0 ? v0 / (v0 - v1) : 0.0;
      sum = stops ? v0 * rate : sum;
      v1 = stops ? 0.0 : v1;
      half_before = stops ? 0.0 : half_before;
    }
    x->speed[l] = v1;
    x->half_before[l] = half_before;
    w[l] = sum;
    s->way[l] += sum;
    s->road[l] += road * sum;
  }
}

/* what the work of torque `x` needs */
BW_HOT_INLINE void hot_add(struct bw_hot_moments *restrict sum, size_t l, double x, double total,
                           double w) {
  const double way = x * w;
  sum->torque[l] += x;
  sum->way[l] += way;
  sum->slipped[l] += total * way;
}

/** Work of axle `i` over the step: machine braking and driving, friction heat, tyre slip. The slip
 *  s = T g - s0 is linear in the axle's torque T, so that all four follow from sums of x w and
 *  T x w (hot_close()). */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_work(const struct bw_hot_torques *restrict t, const double *restrict w,
                            struct bw_hot_totals *restrict s, const size_t i,
                            const bool has_machine, const bool has_friction, const bool is_calm) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double machine = has_machine ? t->machine[i][l] : 0.0;
    const double friction = has_friction ? t->friction[i][l] : 0.0;
    const double total = machine + friction;
    if (has_machine) {
      const double braking = is_calm ? machine : bw_max(machine, 0.0);
      hot_add(&s->braking[i], l, braking, total, w[l]);
      s->braking[i].square[l] += braking * braking;
      if (!is_calm) {
        const double driving = machine - braking;
        hot_add(&s->driving[i], l, driving, total, w[l]);
        s->driving[i].square[l] += driving * driving;
      }
    }
    if (has_friction) {
      hot_add(&s->friction[i], l, friction, total, w[l]);
    }
  }
}

#endif
