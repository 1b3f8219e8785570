/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_GAP_H
#define BW_GAP_H

#include "assess/envelope.h"
#include "assess/jerk_filter.h"
#include "assess/summary.h"

/** Torque gap, dip and surge against the envelope, and jerk of the gap, at sub-step rate.
 *
 *    gap = demanded - delivered (N m at both axles, a drive demand counts negative as in delivered)
 *    dip = max(0, low - delivered) / (r m_eff),  surge = max(0, delivered - high) / (r m_eff)
 *
 *  Judged while braking above BW_FEEL_SPEED only. The jerk filter starts at the first judged
 *  sub-step in the steady state of its gap. */

/** What one period showed; all zero when it was not judged. */
struct bw_gap_period {
  double time;          /**< s judged */
  double dip_peak;      /**< m/s2 */
  double dip_peak_time; /**< s, start of the sub-step */
  double surge_peak;    /**< m/s2 */
  double felt_time;     /**< s with dip or surge above the felt line */
  double dip_speed;     /**< m/s, integral of the dip */
  double excess_speed;  /**< m/s, integral of dip - surge */
  double jerk_peak;     /**< m/s3 */
  double jerk_squares;  /**< m2/s5, integral of the jerk squared */
};

struct bw_gap {
  double per_torque;  /**< 1/(r m_eff) */
  double felt_torque; /**< N m, the felt line */
  bool is_filtering;
  struct bw_envelope envelope;
  struct bw_jerk_filter filter;
  struct bw_gap_period period; /**< of the last watched period */
  double time;                 /**< s judged over the run */
  double gap_peak_square;      /**< N2 m2 */
  double gap_squares;          /**< N2 m2 s */
  double dip_peak;             /**< m/s2 */
  double surge_peak;           /**< m/s2 */
  double felt_time;            /**< s */
  double dip_speed;            /**< m/s */
  double jerk_peak;            /**< m/s3 */
  double jerk_squares;         /**< m2/s5 */
};

/** Prepare for a case. BW_E_RANGE when the jerk filter's cut-off is not below half the sub-step
 *  rate, or as bw_envelope_make(). */
BW_MUST_CHECK enum bw_status bw_gap_start(struct bw_gap *gap, const struct bw_judge *judge,
                                          struct bw_diag *diag);

/** Take in one period that is judged. */
void bw_gap_judge(struct bw_gap *gap, const struct bw_sample *sample);

/** Take in one period; gap->period then holds what it showed. */
static inline void bw_gap_watch(struct bw_gap *gap, const struct bw_sample *sample,
                                const struct bw_period *period) {
  if (period->is_felt && sample->substeps > 0) {
    bw_gap_judge(gap, sample);
    return;
  }
  bw_envelope_pass(&gap->envelope, sample);
  if (gap->is_filtering) {
    gap->is_filtering = false;
    gap->period = (struct bw_gap_period){0};
  }
}

void bw_gap_finish(const struct bw_gap *gap, double jerk_cutoff, struct bw_summary *summary);

#endif
