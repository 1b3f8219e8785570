/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BENCH_PLAIN_H
#define BW_BENCH_PLAIN_H

#include "input/case.h"

/** The yardstick: the same car, driver and strategy written down straightforwardly as one system
 *  of ordinary differential equations and integrated by a general solver, GSL odeiv2,
 *  Runge-Kutta-Fehlberg 4(5), in fixed steps of simulation.step_ms. No assessment of any kind. */
struct bench_plain {
  double distance;      /**< m */
  double machine_work;  /**< J, braking, at the axle */
  double friction_work; /**< J */
  double terminals;     /**< J, net into the battery over the whole run */
};

/** Drive `loaded` with `strategy` and its parameters. False when the solver gave up. */
bool bench_plain_run(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                     const double *params, struct bench_plain *out);

#endif
