/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_HOT_STAGES_H
#define BW_HOT_STAGES_H

#include "sim/hot.h"

/** The stages of one sub-step. Each is one loop over the lanes without branches; conditional
 *  expressions compile to minimum, maximum and select. */

BW_HOT_INLINE double hot_min(double a, double b) {
  return a < b ? a : b;
}

BW_HOT_INLINE double hot_max(double a, double b) {
  return a > b ? a : b;
}

/** Torques of one sub-step at the axles. */
struct bw_hot_torques {
  double machine[2][BW_LANES];  /**< N m, mean over the step */
  double friction[2][BW_LANES]; /**< N m, mean over the step */
};

/** Motion of one sub-step. */
struct bw_hot_motion {
  double advance[BW_LANES]; /**< m covered */
};

/** Machine of axle `i`: delayed command, lag, slew limit, guard by the period's limits. */
BW_HOT_INLINE void hot_machine(const struct bw_hot_coefficients *restrict c,
                               const struct bw_hot_period *restrict p,
                               struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                               size_t i, size_t k) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double command = p->machine_old[i][l] + p->machine_step[i][l] * c->machine_new[i][k][l];
    const double start = x->machine[i][l];
    double change = (command - start) * c->machine_gain[i][l];
    change = hot_max(hot_min(change, c->machine_slew[i][l]), -c->machine_slew[i][l]);
    const double mean = start + change * c->machine_mean[i][l];
    const double end = start + change;
    t->machine[i][l] = hot_max(hot_min(mean, p->machine_max[i][l]), p->machine_min[i][l]);
    x->machine[i][l] = hot_max(hot_min(end, p->machine_max[i][l]), p->machine_min[i][l]);
  }
}

/** Friction path of axle `i`: delayed pressure command, lag, rates, threshold, pads. */
BW_HOT_INLINE void hot_friction(const struct bw_hot_coefficients *restrict c,
                                const struct bw_hot_period *restrict p,
                                struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                                size_t i, size_t k) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double command =
        p->friction_old[i][l] + p->friction_step[i][l] * c->friction_new[i][k][l];
    const double start = x->pressure[i][l];
    double change = (command - start) * c->friction_gain[i][l];
    change = hot_max(hot_min(change, c->build[i][l]), -c->release[i][l]);
    const double mean = start + change * c->friction_mean[i][l];
    x->pressure[i][l] = start + change;
    t->friction[i][l] = hot_max(mean - c->threshold[i][l], 0.0) * p->friction_gain[i][l];
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
    const double v_mid = v0 + 0.5 * c->dt * x->acceleration[l];
    const double road = c->road_f0[l] + v_mid * (c->road_f1[l] + v_mid * c->road_f2[l]);
    const double force = total[l] * c->per_radius[l] + road + p->slope_force[l];
    const double acceleration = -force * c->per_mass[l];
    double v1 = v0 + c->dt * acceleration;
    double advance = 0.5 * c->dt * (v0 + v1);
    double reached = acceleration;
    if (near_standstill) {
      const bool stops = v1 <= 0.0;
      /* divide only where the car does stop; at rest already: no time, no way */
      const double rate = stops && v0 > 0.0 ? v0 / (v0 - v1) : 0.0;
      advance = stops ? 0.5 * v0 * c->dt * rate : advance;
      v1 = stops ? 0.0 : v1;
      reached = stops ? 0.0 : acceleration;
    }
    x->speed[l] = v1;
    x->acceleration[l] = reached;
    m->advance[l] = advance;
    s->distance[l] += advance;
    s->road[l] += road * advance;
  }
}

/** Work of axle `i` over the step: tyre slip, machine braking and driving, friction heat. */
BW_HOT_INLINE void hot_work(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p,
                            const struct bw_hot_torques *restrict t,
                            const struct bw_hot_motion *restrict m, struct bw_hot_sums *restrict s,
                            size_t i, const bool has_machine, const bool has_friction) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double machine = has_machine ? t->machine[i][l] : 0.0;
    const double friction = has_friction ? t->friction[i][l] : 0.0;
    const double force = (machine + friction) * c->per_radius[l];
    const double slip = (force - p->slip_offset[i][l]) * p->slip_gain[i][l];
    const double slipped = slip * m->advance[l];
    const double angle = (m->advance[l] - slipped) * c->per_radius[l];
    s->tyre[i][l] += force * slipped;
    if (has_machine) {
      const double braking = hot_max(machine, 0.0);
      const double driving = machine - braking;
      const double shaft = braking * c->to_shaft_brake[i][l] + driving * c->to_shaft_drive[i][l];
      s->machine_brake[i][l] += braking * angle;
      s->machine_drive[i][l] -= driving * angle;
      s->shaft_square[i][l] += shaft * shaft;
      s->machine_torque[i][l] += machine;
    }
    if (has_friction) {
      s->friction[i][l] += friction * angle;
      s->friction_torque[i][l] += friction;
    }
  }
}

#endif
