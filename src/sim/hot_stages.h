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

/** Motion of one sub-step. */
struct bw_hot_motion {
  double advance[BW_LANES]; /**< m covered */
};

/** Machine of axle `i`: delayed command, lag, slew limit, guard by the period's limits. Where the
 *  command changes inside the step, older and newer one act for their shares of it, each within
 *  the slew limit: limiting their mean instead would be of first order in the step. */
BW_HOT_INLINE void hot_machine(const struct bw_hot_coefficients *restrict c,
                               const struct bw_hot_period *restrict p,
                               struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                               size_t i, size_t k) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double start = x->machine[i][l];
    const double older = (p->machine_old[i][l] - start) * c->machine_gain[i][l];
    const double newer = older + p->machine_step[i][l] * c->machine_gain[i][l];
    const double slow = bw_max(bw_min(older, c->machine_slew[i][l]), -c->machine_slew[i][l]);
    const double fast = bw_max(bw_min(newer, c->machine_slew[i][l]), -c->machine_slew[i][l]);
    const double change = slow + (fast - slow) * c->machine_new[i][k][l];
    const double mean = start + change * c->machine_mean[i][l];
    const double end = start + change;
    t->machine[i][l] = bw_max(bw_min(mean, p->machine_max[i][l]), p->machine_min[i][l]);
    x->machine[i][l] = bw_max(bw_min(end, p->machine_max[i][l]), p->machine_min[i][l]);
  }
}

/** Friction path of axle `i`: delayed pressure command, lag, rates, threshold, pads; a command
 *  that changes inside the step as in hot_machine(). */
BW_HOT_INLINE void hot_friction(const struct bw_hot_coefficients *restrict c,
                                const struct bw_hot_period *restrict p,
                                struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                                size_t i, size_t k) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double start = x->pressure[i][l];
    const double older = (p->friction_old[i][l] - start) * c->friction_gain[i][l];
    const double newer = older + p->friction_step[i][l] * c->friction_gain[i][l];
    const double slow = bw_max(bw_min(older, c->build[i][l]), -c->release[i][l]);
    const double fast = bw_max(bw_min(newer, c->build[i][l]), -c->release[i][l]);
    const double change = slow + (fast - slow) * c->friction_new[i][k][l];
    const double mean = start + change * c->friction_mean[i][l];
    x->pressure[i][l] = start + change;
    t->friction[i][l] = bw_max(mean - c->threshold[i][l], 0.0) * p->friction_gain[i][l];
  }
}

/** Motion from the retarding torque `total` (N m): speed, distance, road work. Near standstill
 *  the step that passes zero ends at rest after t* = dt v0/(v0 - v1), with work over v0 t* / 2. */
BW_HOT_INLINE void hot_move(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p, struct bw_hot_state *restrict x,
                            struct bw_hot_sums *restrict s, const double *restrict total,
                            struct bw_hot_motion *restrict m, const bool near_standstill) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double v0 = x->speed[l];
    /* the speed in the middle of the step, carried on from the last one; everything that does not
     * need it stands outside the chain from one speed to the next, which sets the pace */
    const double v_mid = 1.5 * v0 - x->half_before[l];
    const double other = total[l] * c->per_radius[l] + p->slope_force[l];
    const double free = v0 - (other + c->road_f0[l]) * c->dt_per_mass[l];
    double v1 = free - v_mid * (c->road_d1[l] + v_mid * c->road_d2[l]);
    const double road = c->road_f0[l] + v_mid * (c->road_f1[l] + v_mid * c->road_f2[l]);
    double advance = 0.5 * c->dt * (v0 + v1);
    double half_before = 0.5 * v0;
    if (near_standstill) {
      const bool stops = v1 <= 0.0;
      /* divide only where the car does stop; at rest already: no time, no way */
      const double rate = stops && v0 > 0.0 ? v0 / (v0 - v1) : 0.0;
      advance = stops ? 0.5 * v0 * c->dt * rate : advance;
      v1 = stops ? 0.0 : v1;
      half_before = stops ? 0.0 : half_before;
    }
    x->speed[l] = v1;
    x->half_before[l] = half_before;
    m->advance[l] = advance;
    s->distance[l] += advance;
    s->road[l] += road * advance;
  }
}

/** Work of axle `i` over the step: tyre slip, machine braking and driving, friction heat. Sums are
 *  torque x way; bw_hot_run() turns them into work at the end of the period. */
BW_HOT_INLINE void hot_work(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p,
                            const struct bw_hot_torques *restrict t,
                            const struct bw_hot_motion *restrict m, struct bw_hot_sums *restrict s,
                            size_t i, const bool has_machine, const bool has_friction) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double machine = has_machine ? t->machine[i][l] : 0.0;
    const double friction = has_friction ? t->friction[i][l] : 0.0;
    const double torque = machine + friction;
    const double slip = torque * p->slip_gain[i][l] - p->slip_free[i][l];
    const double slipped = slip * m->advance[l];
    const double way = m->advance[l] - slipped;
    s->tyre[i][l] += torque * slipped;
    if (has_machine) {
      const double braking = bw_max(machine, 0.0);
      const double driving = machine - braking;
      const double shaft = braking * c->to_shaft_brake[i][l] + driving * c->to_shaft_drive[i][l];
      s->machine_brake[i][l] += braking * way;
      s->machine_drive[i][l] -= driving * way;
      s->shaft_square[i][l] += shaft * shaft;
      s->machine_torque[i][l] += machine;
    }
    if (has_friction) {
      s->friction[i][l] += friction * way;
      s->friction_torque[i][l] += friction;
    }
  }
}

#endif
