/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_HOT_H
#define BW_HOT_H

#include "sim/sample.h"

#include <stdbool.h>

/** The plant at sub-step rate: actuators, tyres, motion, and the sums the books need.
 *
 *  Everything is stored as double x[BW_LANES], one lane per run; an ordinary run is one lane.
 *  Each stage (hot_stages.h) is a loop over the lanes without branches, so that several runs can
 *  later go side by side with the same bits in every lane: no sums across lanes, no fused
 *  multiply-add, no library calls.
 *
 *  Per axle i, with u the command after its dead time:
 *    machine   dy = clip((u - y)(1 - exp(-dt/lag)), +-slew dt), guarded by the limits of the period
 *    pressure  dp = clip((u - p)(1 - exp(-dt/lag)), -release dt, +build dt)
 *    friction  T_f = max(0, p - p0) x gain
 *    force     F_i = (T_m + T_f)/r,  slip s_i = (F_i - J_i a_dec/r^2)/(N_i slope0)
 *    motion    dv = -dt (F_f + F_r + F_road(v at mid-step) + m g sin(theta))/m_eff
 *  Work is force x mean speed x dt with the force of the step, so kinetic energy balances to
 *  rounding whatever the step. */

#ifndef BW_LANES
#define BW_LANES 1
#endif

/** Constant during a run. */
struct bw_hot_coefficients {
  double machine_gain[2][BW_LANES];   /**< 1 - exp(-dt/lag) */
  double machine_mean[2][BW_LANES];   /**< mean of the exponential over the step: part of dy */
  double machine_slew[2][BW_LANES];   /**< N m per step at the axle */
  double friction_gain[2][BW_LANES];  /**< 1 - exp(-dt/lag) */
  double friction_mean[2][BW_LANES];  /**< part of dp */
  double build[2][BW_LANES];          /**< Pa per step */
  double release[2][BW_LANES];        /**< Pa per step */
  double threshold[2][BW_LANES];      /**< Pa */
  double to_shaft_brake[2][BW_LANES]; /**< efficiency / ratio */
  double to_shaft_drive[2][BW_LANES]; /**< 1 / (efficiency x ratio) */
  /** N m and Pa per step: a command nearer than this stays inside slew and rates for the whole
   *  period; negative where the gain is too near 1 to promise that nothing overshoots by rounding
   */
  double machine_room[2][BW_LANES];
  double friction_room[2][BW_LANES];
  double per_radius[BW_LANES];  /**< 1/m */
  double dt_per_mass[BW_LANES]; /**< s/kg, step over effective mass */
  double mass_per_dt[BW_LANES]; /**< kg/s */
  double per_inertia[BW_LANES]; /**< s/(kg m), speed per step that a torque of 1 N m takes off */
  double road_f0[BW_LANES];
  double road_f1[BW_LANES];
  double road_f2[BW_LANES];
  double road_d1[BW_LANES];  /**< 1, road_f1 x dt_per_mass */
  double road_d2[BW_LANES];  /**< s/m, road_f2 x dt_per_mass */
  double road_now[BW_LANES]; /**< s/m, 1.5 road_d2, the present speed's part in that of mid-step */
  /** Share of each sub-step in which the newer of two delayed commands already acts: a dead time
   *  that is no whole number of steps is kept exactly. */
  double machine_new[2][BW_SUBSTEPS_MAX][BW_LANES];
  double friction_new[2][BW_SUBSTEPS_MAX][BW_LANES];
  size_t substeps; /**< per control period, <= BW_SUBSTEPS_MAX */
  double dt;       /**< s, the same in all lanes */
  /** True where some share in some lane is neither 0 nor 1, or lanes differ. */
  bool is_mixed[BW_SUBSTEPS_MAX];
  bool machine_is_new[2][BW_SUBSTEPS_MAX]; /**< the newer command acts; not for mixed steps */
  bool friction_is_new[2][BW_SUBSTEPS_MAX];
};

/** Constant during one control period. */
struct bw_hot_period {
  double machine_old[2][BW_LANES];    /**< N m, delayed command at the start */
  double machine_step[2][BW_LANES];   /**< N m, newer minus older command */
  double machine_min[2][BW_LANES];    /**< N m, guard (driving, negative) */
  double machine_max[2][BW_LANES];    /**< N m, guard (braking) */
  double friction_old[2][BW_LANES];   /**< Pa */
  double friction_step[2][BW_LANES];  /**< Pa */
  double friction_gain[2][BW_LANES];  /**< N m/Pa, real pads */
  double friction_floor[2][BW_LANES]; /**< Pa that no antilock valve lets out; slip only */
  double slope_force[BW_LANES];       /**< N */
  double slip_gain[2][BW_LANES];      /**< 1/(N m), 1/(N_i slope0 r) */
  double slip_free[2][BW_LANES];      /**< 1, slip that the axle's inertia takes off: J_i a_dec/r^2
                                           over N_i slope0 */
};

struct bw_hot_state {
  double speed[BW_LANES];       /**< m/s */
  double half_before[BW_LANES]; /**< m/s, half the speed one step ago */
  double machine[2][BW_LANES];  /**< N m at the axle, negative when driving */
  double pressure[2][BW_LANES]; /**< Pa */
};

/** Sums over one control period. */
struct bw_hot_sums {
  double distance[BW_LANES];           /**< m */
  double road[BW_LANES];               /**< J */
  double machine_brake[2][BW_LANES];   /**< J */
  double machine_drive[2][BW_LANES];   /**< J */
  double shaft_square[2][BW_LANES];    /**< (N m)^2, sum of squares of shaft torque */
  double friction[2][BW_LANES];        /**< J */
  double tyre[2][BW_LANES];            /**< J */
  double machine_torque[2][BW_LANES];  /**< N m, sum */
  double friction_torque[2][BW_LANES]; /**< N m, sum */
};

/** Bits that pick the compiled copy of the loop. */
enum {
  BW_HOT_FRONT_MACHINE = 1,
  BW_HOT_REAR_MACHINE = 2,
  BW_HOT_FRICTION = 4,   /**< pressure or a pressure command is not zero */
  BW_HOT_STANDSTILL = 8, /**< the car may come to rest or pull away within the period */
  BW_HOT_CALM = 16       /**< as bw_hot_is_calm() says */
};

/** Fill is_mixed and *_is_new from the shares. */
void bw_hot_sort_steps(struct bw_hot_coefficients *coefficients);

/** True when over the coming period no slew limit, rate or guard can bind and no machine can change
 *  its sign: commands and states then follow the plain lag. `flags` tell which parts count. The
 *  results are the same to the last bit with and without BW_HOT_CALM, which is only faster. */
bool bw_hot_is_calm(const struct bw_hot_coefficients *coefficients,
                    const struct bw_hot_period *period, const struct bw_hot_state *state,
                    unsigned flags);

/** Advance `state` by one control period, filling *sums from zero and `delivered` (substeps x
 *  lanes: N m, both axles, mean of each step). `flags` as above; a cleared machine or friction bit
 *  promises that this part is exactly zero. */
void bw_hot_run(const struct bw_hot_coefficients *restrict coefficients,
                const struct bw_hot_period *restrict period, struct bw_hot_state *restrict state,
                struct bw_hot_sums *restrict sums, double (*restrict delivered)[BW_LANES],
                unsigned flags);

/** Advance the actuators alone by the whole period in one exact step, the car standing still:
 *  no work is done. `whole` has the coefficients of a step of one control period. */
void bw_hot_park(const struct bw_hot_coefficients *restrict whole,
                 const struct bw_hot_period *restrict period, struct bw_hot_state *restrict state,
                 struct bw_hot_sums *restrict sums);

#endif
