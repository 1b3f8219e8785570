/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PROBE_H
#define BW_PROBE_H

#include "sim/run.h"

/** What a strategy settles at when everything but its own memory is held still.
 *
 *  Speed, charge, temperatures and limits are frozen; the demand rises within BW_PROBE_BUILD s and
 *  then stays. The strategy is stepped, its actuators follow with their dead times, lags and rates,
 *  until requests and torques have stood still for five times the slowest dead time and lag, so its
 *  own ramps are over as well. What is read off is where the actuators are heading: no trace of
 *  their lag is left. Sensors are ideal; rust care and faults of the case play no part.
 *
 *  Contact force of an axle from brake torques, without road load, with level-road loads at z:
 *
 *    F_i = max(0, T_i/r - J_i a/r^2),   a = sum T/(r m_eff),   z = sum F/(m g) */

/** s, time in which the demand is built up. */
#define BW_PROBE_BUILD 0.2

/** s; a strategy that has not come to rest by then is told as not settled. */
#define BW_PROBE_PATIENCE 30.0

struct bw_probe_setting {
  double speed;          /**< m/s, > 0 */
  double charge;         /**< 0..1 */
  bool has_regeneration; /**< false: the machines give nothing, the strategy is told so */
  bool is_overrun;       /**< the demand comes from accelerator release, not from the pedal */
};

struct bw_probe_result {
  double machine[2];  /**< N m at the axle */
  double friction[2]; /**< N m at the axle, real pads at the case's rotor temperature */
  double force[2];    /**< N, contact, >= 0 */
  double load[2];     /**< N */
  double rate;        /**< z that is delivered */
  double used[2];     /**< adhesion used, F_i/N_i */
  bool is_settled;
};

struct bw_prober; /**< a strategy and the memory it is probed in; opaque */

/** `loaded`, `strategy`, `params` (NULL when it has none) and `guard` (NULL: none; its consult is
 *  called around every step) must outlive the prober. Free with bw_prober_destroy().
 *  BW_E_MEMORY; BW_E_RANGE when a dead time is too long. On error *out is NULL. */
BW_MUST_CHECK enum bw_status bw_prober_create(const struct bw_case *loaded,
                                              const struct bw_blend_strategy *strategy,
                                              const double *params, const struct bw_observer *guard,
                                              struct bw_prober **out, struct bw_diag *diag);

/** NULL is fine. */
void bw_prober_destroy(struct bw_prober *prober);

/** Probe from released brakes at a demanded braking rate `rate` (z, >= 0).
 *  BW_E_NUMERIC when the strategy gives a torque that is not a number, or a status of the guard. */
BW_MUST_CHECK enum bw_status bw_probe(struct bw_prober *prober,
                                      const struct bw_probe_setting *setting, double rate,
                                      struct bw_probe_result *out, struct bw_diag *diag);

#endif
