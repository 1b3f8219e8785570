/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TRACE_H
#define BW_TRACE_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** What the driver is asked to do: a speed trace (cycle) or a demand over time (manoeuvre).
 *
 *  A speed trace given at points is joined by straight lines convolved with a box of width b:
 *    v(t) = [S(t + b/2) - S(t - b/2)] / b,   a(t) = [u(t + b/2) - u(t - b/2)] / b
 *  with u the straight lines and S their integral; b = 0 means straight lines. End speeds are
 *  held outside the table. Acceleration is then continuous, never exceeds the table's, and
 *  distance is kept. */

enum bw_trace_kind {
  BW_TRACE_SPEED,  /**< value = speed, m/s */
  BW_TRACE_DECEL,  /**< value = demanded deceleration, m/s2, straight between the points */
  BW_TRACE_PEDAL   /**< value = pedal travel 0..1, straight between the points */
};

enum { BW_NAME_MAX = 128, BW_PATH_MAX = 1024 };

/** Owns its arrays; free with bw_trace_free(). */
struct bw_trace {
  enum bw_trace_kind kind;
  char name[BW_NAME_MAX];   /**< catalogue name or file name */
  char source[512];         /**< first comment line of the file, may be empty */
  size_t n;                 /**< points, >= 2 */
  double *time;             /**< (n) s, strictly rising from 0 */
  double *value;            /**< (n) unit by kind */
  double *integral;         /**< (n) of value from time[0] */
  double box;               /**< s, joining width; 0 for manoeuvres and `linear` */
  size_t grade_n;           /**< points of the slope profile, 0: level */
  double *grade_distance;   /**< (grade_n) m, strictly rising */
  double *grade_sin;        /**< (grade_n) sine of the slope, positive uphill */
};

/** Free what the trace owns and zero it; fine on a zeroed trace. */
void bw_trace_free(struct bw_trace *trace);

/** Duration (s): the last time of the table. */
double bw_trace_duration(const struct bw_trace *trace);

/** A place in the table, so that a forward walk costs no search. Start from {0}. */
struct bw_trace_cursor {
  size_t left;
  size_t right;
  size_t grade;
};

/** Joined value and its time derivative at `time`. For manoeuvres the derivative is 0. */
void bw_trace_at(const struct bw_trace *trace, struct bw_trace_cursor *cursor, double time,
                 double *value, double *derivative);

/** Sine of the slope at `distance` (m), straight between points, held outside. */
double bw_trace_grade(const struct bw_trace *trace, struct bw_trace_cursor *cursor,
                      double distance);

/** Read a cycle or manoeuvre from a CSV file: header `time_s` and one of `speed_kmh`,
 *  `decel_mps2`, `pedal_percent`; `grade_percent` and `speed_mph` (must agree) may follow a
 *  speed. Lines starting with # are comments. UTF-8 mark and CRLF are accepted. Every fault of
 *  the file is one `file:line:` message. `box` is the joining width (s) for speed traces. */
BW_MUST_CHECK enum bw_status bw_trace_read(const char *path, double box, struct bw_trace *out,
                                           struct bw_diag *diag);

/** Give `trace` a slope profile read from a CSV with `distance_m,grade_percent`. */
BW_MUST_CHECK enum bw_status bw_trace_read_grade(const char *path, struct bw_trace *trace,
                                                 struct bw_diag *diag);

#endif
