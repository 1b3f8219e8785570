/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_EVALUATE_H
#define BW_EVALUATE_H

#include "assess/summary.h"
#include "assess/waterfall_steps.h"
#include "sim/run.h"

/** One strategy on one case, with every assessment: runs the simulation, watches it, judges it. */

/** One braking event (demand on/off with hysteresis, short gaps merged). The last row of a run,
 *  number 0, is the remainder outside all events, so that the rows sum to the summary. */
struct bw_event {
  size_t number;              /**< from 1; 0 for the remainder */
  double start;               /**< s */
  double end;                 /**< s */
  double speed_start;         /**< m/s */
  double speed_end;           /**< m/s */
  double distance;            /**< m */
  double deceleration_peak;   /**< m/s2 */
  double deceleration_mean;   /**< m/s2 over time */
  double demanded;            /**< J */
  double delivered;           /**< J */
  double machine_axle;        /**< J */
  double battery;             /**< J */
  double friction_front;      /**< J */
  double friction_rear;       /**< J */
  double recoverable_plant;   /**< J */
  double recoverable_rule;    /**< J */
  double dip_peak;            /**< m/s2 */
  double dip_peak_time;       /**< s */
  double surge_peak;          /**< m/s2 */
  double time_above_felt;     /**< s */
  double speed_not_taken_off; /**< m/s */
  double gap_jerk_peak;       /**< m/s3 */
  double axle_margin_worst;   /**< 1 */
  double violation_time;      /**< s */
  double kinematic_residual;  /**< 1, NaN for events below 5 kJ */
  double stopping_distance;   /**< m, NaN unless the event ends at rest */
  double mfdd;                /**< m/s2, NaN unless the event ends at rest */
};

/** Why a hand-over happened: the limit active at its start, or the strategy's own choice. */
struct bw_handover {
  size_t event;               /**< event it belongs to, 0: none */
  double start;               /**< s */
  double end;                 /**< s */
  double speed_start;         /**< m/s */
  double speed_end;           /**< m/s */
  double share_start;         /**< machine request over demand before */
  double share_end;           /**< and after */
  enum bw_limit cause;        /**< BW_LIMIT_NONE: the strategy's own choice */
  double dip_peak;            /**< m/s2 */
  double surge_peak;          /**< m/s2 */
  double time_above_felt;     /**< s */
  double speed_not_taken_off; /**< m/s */
  double added_distance;      /**< m, speed not taken off carried to the end of the hand-over */
  double jerk_peak;           /**< m/s3, filtered gap */
  double jerk_rms;            /**< m/s3 */
  double steady_step; /**< m/s2, gap left at the end that does not decay (wrong pad friction) */
};

/** The books, J over the whole run. Mechanical: kinetic_start + drive = kinetic_end + potential
 *  + road + brake_machine + friction + tyre + driveline. Electrical: dc = auxiliaries + terminals,
 *  terminals = cells + rc + resistance. */
struct bw_ledger {
  double kinetic_start;
  double kinetic_end;
  double potential;
  double drive;
  double road;
  double machine; /**< braking work of the machines at the axle */
  double friction[2];
  double tyre;
  double driveline; /**< damping of compliant shafts, fidelity `slip` */
  double gear;      /**< lost in the gears, driving and braking */
  double machine_loss;
  double dc_in;  /**< into the DC link */
  double dc_out; /**< out of the DC link, >= 0 */
  double auxiliaries;
  double terminals_in;
  double terminals_out;
  double cells;
  double rc;
  double resistance;
  double residual_mechanical; /**< share */
  double residual_electrical; /**< share */
};

/** Everything one evaluation found. Owns its lists; free with bw_evaluation_free(). */
struct bw_evaluation {
  struct bw_summary summary;
  struct bw_ledger ledger;
  struct bw_waterfall waterfall;
  size_t event_count;
  struct bw_event *events; /**< (event_count), the remainder last */
  size_t handover_count;
  struct bw_handover *handovers; /**< (handover_count) */
};

/** Run `loaded` with `strategy` under every assessment and fill *out. `extra` (may be NULL)
 *  watches the run as well, for instance a trace writer. On error *out is zeroed; statuses as
 *  bw_run(), and BW_E_NUMERIC when a ledger residual is above its limit (1e-9 mechanical, 1e-6
 *  electrical). */
BW_MUST_CHECK enum bw_status bw_evaluate(const struct bw_case *loaded,
                                         const struct bw_blend_strategy *strategy,
                                         const struct bw_observer *extra, struct bw_evaluation *out,
                                         struct bw_diag *diag);

/** Free the lists and zero the evaluation; fine on a zeroed one. */
void bw_evaluation_free(struct bw_evaluation *evaluation);

#endif
