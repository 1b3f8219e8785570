/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DESCENT_READ_H
#define BW_DESCENT_READ_H

#include "input/trace.h"

/** A descent along the way: speed and slope at places. Between two places the deceleration is
 *  constant, so the car takes 2 ds / (v0 + v1) s from one to the next. */
struct bw_descent_points {
  size_t n;               /**< >= 2 */
  const double *distance; /**< (n) m, strictly rising from 0 */
  const double *speed;    /**< (n) m/s, above 0 */
  const double *sine;     /**< (n) sine of the slope, negative downhill */
};

/** Make the speed trace with slope of a descent; straight lines, no smoothing. BW_E_RANGE,
 *  BW_E_MEMORY; on error *out is zeroed. Free with bw_trace_free(). */
BW_MUST_CHECK enum bw_status bw_descent_make(const struct bw_descent_points *points,
                                             struct bw_trace *out, struct bw_diag *diag);

/** Read one from a CSV `distance_m,speed_kmh,grade_percent`: distance strictly rising from 0,
 *  speed 5 to 200 km/h, slope -40 to 40 %, at least two rows and 50 m. Faults are reported at their
 *  line. BW_E_INPUT, BW_E_IO, BW_E_MEMORY; on error *out is zeroed. */
BW_MUST_CHECK enum bw_status bw_descent_read(const char *path, struct bw_trace *out,
                                             struct bw_diag *diag);

#endif
