/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_STOPS_H
#define BW_ASSESS_STOPS_H

#include "assess/requirements.h"
#include "batch/plugin.h"
#include "input/case.h"

/** Straight stops of the published rules, run on copies of a case.
 *
 *  Each stop is the hardest one, to 0.02 m/s2 of brake demand, in which no axle asks for more grip
 *  than road.adhesion gives (no wheel lock; assess.balance_violation_ms in all are forgiven), on a
 *  level road with rolling wheels; the demand rises
 *  within BW_STOP_BUILD. Brakes start at the case's temperatures. Pedal forces are not modelled. */

/** s; an emergency application, chosen here: 0.05 s and 0.83 s are quoted for professional and
 *  ordinary drivers (Greibe 2007). */
#define BW_STOP_BUILD 0.2

enum bw_stop_charge {
  BW_STOP_CHARGE_FULL, /**< 100 %: the least help of the machine that is guaranteed */
  BW_STOP_CHARGE_OWN   /**< the case's own state of charge */
};

/** What has failed; the controller is not told. Circuits have failed with machines that do not
 *  brake, so that what is shown is the least that is left. */
enum bw_stop_failure {
  BW_STOP_SOUND,
  BW_STOP_REGENERATION,  /**< machines disconnected */
  BW_STOP_CIRCUIT_FRONT, /**< no friction at the front */
  BW_STOP_CIRCUIT_REAR,
  BW_STOP_CIRCUIT_DIAGONAL, /**< one wheel of each axle without friction */
  BW_STOP_BOOSTER
};

/** One requirement under one condition. */
struct bw_assess_row {
  const struct bw_requirement *requirement;
  const struct bw_blend_strategy *strategy;
  enum bw_load_state load;
  enum bw_stop_charge charge;
  bool is_connected; /**< machines fitted and able to brake */
  enum bw_stop_failure failure;
  double speed;   /**< m/s at the start, 0: unknown */
  double limit;   /**< m or m/s2 */
  double result;  /**< m or m/s2, NaN: not assessed */
  double margin;  /**< in the same unit, negative when missed */
  double demand;  /**< m/s2 of brake demand that was needed, NaN: not assessed */
  char note[160]; /**< why it is not assessed, else empty */
};

/** Owns its rows; free with bw_assessment_free(). Start from {0}. */
struct bw_assessment {
  size_t count;
  size_t room;
  struct bw_assess_row *rows; /**< (count) */
};

/** What is assessed. Borrows everything. */
struct bw_assess_job {
  const struct bw_case *loaded;
  const struct bw_blend_strategy *strategy;
  const struct bw_plugin *plugin;    /**< NULL: a built-in strategy */
  struct bw_containment containment; /**< of a loaded controller */
};

/** Append all rows of one strategy. A stop that cannot be run gives a row 'not assessed' with its
 *  reason. BW_E_MEMORY, BW_E_INTERRUPTED, and BW_E_IO of a child process. */
BW_MUST_CHECK enum bw_status bw_assess_stops(const struct bw_assess_job *job,
                                             struct bw_assessment *out, struct bw_diag *diag);

/** Rows that were assessed and missed. */
size_t bw_assessment_missed(const struct bw_assessment *assessment);

/** Top speed (m/s), estimated: the fastest at which the machines' peak power after their gears
 *  meets the road load, below the top shaft speeds. 0 without a machine. */
double bw_assess_top_speed(const struct bw_case *loaded);

void bw_assessment_free(struct bw_assessment *assessment);

#endif
