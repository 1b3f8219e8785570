/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TRACE_BAND_H
#define BW_TRACE_BAND_H

#include "assess/period.h"
#include "assess/summary.h"

/** Tolerance band of a driven speed trace: 2.0 km/h above the highest and below the lowest trace
 *  point within 1.0 s before and after. Source: EU 2017/1151 Annex XXI Sub-Annex 6 2.6.8.3.1,
 *  read. Judged ten times a second, the rate at which that regulation has speed measured; what was
 *  found holds until the next look. How many excursions are accepted, and how long they may be, is
 *  a matter of batch/assess_cycle.c. */

#define BW_TRACE_BAND_SPEED (2.0 / 3.6) /**< m/s */
#define BW_TRACE_BAND_STEP  0.1         /**< s */

/** Owns its arrays; free with bw_trace_band_free(). */
struct bw_trace_band {
  size_t n;     /**< 0: no speed trace, nothing to judge */
  double *low;  /**< (n, then scratch) m/s at multiples of BW_TRACE_BAND_STEP */
  double *high; /**< (n, then scratch) */
  double next;  /**< s, when to look again; infinite after the last point */
  bool is_outside;
  double outside;    /**< s */
  size_t excursions; /**< times it left the band */
  double current;    /**< s of the one under way */
  double longest;    /**< s */
};

/** Prepare the band of a trace; an empty one for manoeuvres. BW_E_MEMORY; *band is then zeroed. */
BW_MUST_CHECK enum bw_status bw_trace_band_start(const struct bw_trace *trace,
                                                 struct bw_trace_band *band, struct bw_diag *diag);

void bw_trace_band_watch(struct bw_trace_band *band, const struct bw_sample *sample);
void bw_trace_band_finish(const struct bw_trace_band *band, struct bw_summary *summary);
void bw_trace_band_free(struct bw_trace_band *band);

#endif
