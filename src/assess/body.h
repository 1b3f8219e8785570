/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BODY_H
#define BW_BODY_H

#include "assess/jerk_filter.h"
#include "assess/period.h"
#include "assess/summary.h"

/** What the body and the wheels went through, fidelity `slip` only: jerk of the body behind the
 *  jerk filter, slip, locking, interventions, shaft torque, rolling back. The jerk is that of the
 *  whole run above standstill; the jolt at rest is a figure of its own. In the fidelity `rolling`
 *  every figure is 'not applicable': there the body has no other motion than its torques give. */
struct bw_body {
  bool is_judged; /**< fidelity `slip` */
  bool is_filtering;
  struct bw_jerk_filter filter;
  double jerk_peak;    /**< m/s3 */
  double slip_peak;    /**< 1 */
  double locked;       /**< s */
  double antilock;     /**< s */
  double shaft_torque; /**< N m */
  double roll_back;    /**< m, >= 0 */
};

/** The cut-off must have been accepted by bw_gap_start(). */
struct bw_body bw_body_start(const struct bw_judge *judge);
void bw_body_watch(struct bw_body *body, const struct bw_sample *sample);
void bw_body_finish(const struct bw_body *body, struct bw_summary *summary);

#endif
