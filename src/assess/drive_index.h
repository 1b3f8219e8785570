/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DRIVE_INDEX_H
#define BW_DRIVE_INDEX_H

#include "sim/sample.h"

/** How truly a speed trace was driven, by two drive-trace indices (SAE J2951), ten times a second:
 *
 *    RMSSE = sqrt(sum (v_D - v_T)^2 / N)
 *    IWR   = (IW_D - IW_T) / IW_T,   IW = sum of m a_i v_i dt over a_i > 0,
 *    a_i   = (v_i+1 - v_i-1) / (2 dt);   the mass cancels
 *
 *  D driven, T target, joined by straight lines. Source: limits, rate and joining EU 2017/1151
 *  Annex XXI Sub-Annex 7 point 7, read; the equations are from memory. Start from {0}; plain bytes.
 */
struct bw_drive_index {
  size_t count;       /**< instants looked at */
  size_t segment;     /**< of the trace */
  double driven[2];   /**< m/s, the last but one and the last instant */
  double target[2];   /**< m/s */
  double squares;     /**< (m/s)2 */
  double work_driven; /**< m2/s2, per mass */
  double work_target; /**< m2/s2 */
};

#define BW_DRIVE_INDEX_STEP 0.1 /**< s */

/** Look at a control period: at every instant within it, speeds straight between its ends.
 *  `trace` must be a speed trace. */
void bw_drive_index_watch(struct bw_drive_index *index, const struct bw_trace *trace,
                          const struct bw_sample *sample);

/** Root mean square of the speed error, m/s; NaN before anything was seen. */
double bw_drive_index_error(const struct bw_drive_index *index);

/** Inertial work rating, 1; NaN for a trace that never accelerates. */
double bw_drive_index_work(const struct bw_drive_index *index);

#endif
