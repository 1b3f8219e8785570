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
 *  distance is kept. Speed never falls below zero, and is exactly zero where the table stands
 *  for longer than b. With b = 0 the acceleration at a point is the one behind it. */

enum bw_trace_kind {
  BW_TRACE_SPEED, /**< value = speed, m/s */
  BW_TRACE_DECEL, /**< value = demanded deceleration, m/s2, straight between the points */
  BW_TRACE_PEDAL  /**< value = pedal travel 0..1, straight between the points */
};

/* names of 300 characters fit, three bytes each */
enum { BW_NAME_MAX = 1024, BW_PATH_MAX = 1024 };

/** Owns its arrays; free with bw_trace_free(). */
struct bw_trace {
  enum bw_trace_kind kind;
  char name[BW_NAME_MAX]; /**< catalogue name or file name */
  char source[512];       /**< first comment line of the file, may be empty */
  size_t n;               /**< points, >= 2 */
  double *time;           /**< (n) s, strictly rising from 0 */
  double *value;          /**< (n) unit by kind */
  double *slope;          /**< (n - 1) of value, from each point to the next */
  double *integral;       /**< (n) of value from time[0] */
  double box;             /**< s, joining width; 0 for manoeuvres and `linear` */
  size_t grade_n;         /**< points of the slope profile, 0: level */
  double *grade_distance; /**< (grade_n) m, strictly rising */
  double *grade_sin;      /**< (grade_n) sine of the slope, positive uphill */
  bool is_loan;           /**< the arrays belong to somebody else and are not written to */
};

/** Points of a trace, SI units: `time` (n) strictly rising from 0 and `value` (n) by `kind`. */
struct bw_trace_points {
  enum bw_trace_kind kind;
  size_t n; /**< >= 2 */
  const double *time;
  const double *value;
};

/** Make a level trace without name from `points`, which are copied. `box` (s, >= 0) is the
 *  joining width of a speed trace; other kinds ignore it. BW_E_RANGE: a point that is not finite,
 *  time not strictly rising from 0, a negative value, a bad box; BW_E_MEMORY. On error *out is
 *  zeroed. Free with bw_trace_free(). */
BW_MUST_CHECK enum bw_status bw_trace_make(const struct bw_trace_points *points, double box,
                                           struct bw_trace *out, struct bw_diag *diag);

/** Free what the trace owns and zero it; fine on a zeroed trace. */
void bw_trace_free(struct bw_trace *trace);

/** Duration (s): the last time of the table. */
double bw_trace_duration(const struct bw_trace *trace);

/** A place in the table, so that a forward walk costs no search. Start from {0}; any other place
 *  is found as well, only later. */
struct bw_trace_cursor {
  size_t left;  /**< points at or before the left edge of the box */
  size_t right; /**< the same of its right edge */
  size_t grade; /**< the same of the slope profile */
  /** Where the whole box lies in one segment of the table, found with `left`: there the joined
   * trace is the straight line value + slope (t - knot). Empty at the start. */
  struct bw_trace_line {
    double from; /**< s */
    double to;   /**< s */
    double knot; /**< s */
    double value;
    double slope;
    double derivative; /**< what bw_trace_at() gives */
  } line;
  /** Where the edges of the box lie in different segments, found with `left` and `right`: the area
   * below the two lines and what stands between them. Empty at the start. */
  struct bw_trace_bend {
    double left_low; /**< s, the left edge's segment: from `low` to before `high` */
    double left_high;
    double right_low; /**< s, the right edge's */
    double right_high;
    double left_knot; /**< s, the line of each edge: value + slope (t - knot) */
    double left_value;
    double left_slope;
    double right_knot;
    double right_value;
    double right_slope;
    double first_time; /**< s, first and last point inside the box */
    double first_value;
    double last_time;
    double last_value;
    double between; /**< integral from the first to the last point */
  } bend;
};

/** bw_trace_at() where neither line nor bend of the cursor reaches; moves one of them. */
void bw_trace_find(const struct bw_trace *trace, struct bw_trace_cursor *cursor, double time,
                   double *value, double *derivative);

/** The area below the lines between the edges `from` and `to` of the box, summed from pieces that
 *  are each positive, so that nothing cancels. */
static inline void bw_trace_on_bend(const struct bw_trace_bend *bend, double box, double from,
                                    double to, double *value, double *derivative) {
  const double a = bend->left_value + bend->left_slope * (from - bend->left_knot);
  const double b = bend->right_value + bend->right_slope * (to - bend->right_knot);
  const double area = 0.5 * (bend->first_time - from) * (a + bend->first_value) + bend->between +
                      0.5 * (to - bend->last_time) * (bend->last_value + b);
  *value = area / box;
  *derivative = (b - a) / box;
}

/** Joined value and its time derivative at `time`. For manoeuvres the derivative is 0. */
static inline void bw_trace_at(const struct bw_trace *trace, struct bw_trace_cursor *cursor,
                               double time, double *value, double *derivative) {
  const struct bw_trace_line *line = &cursor->line;
  if (time > line->from && time < line->to) {
    *value = line->value + line->slope * (time - line->knot);
    *derivative = line->derivative;
    return;
  }
  const struct bw_trace_bend *bend = &cursor->bend;
  const double half = 0.5 * trace->box;
  const double from = time - half;
  const double to = time + half;
  if (from >= bend->left_low && from < bend->left_high && to >= bend->right_low &&
      to < bend->right_high) {
    bw_trace_on_bend(bend, trace->box, from, to, value, derivative);
  } else {
    bw_trace_find(trace, cursor, time, value, derivative);
  }
}

/** bw_trace_grade() of a trace with a slope profile. */
double bw_trace_grade_on(const struct bw_trace *trace, struct bw_trace_cursor *cursor,
                         double distance);

/** Sine of the slope at `distance` (m), straight between points, held outside. */
static inline double bw_trace_grade(const struct bw_trace *trace, struct bw_trace_cursor *cursor,
                                    double distance) {
  return trace->grade_n == 0 ? 0.0 : bw_trace_grade_on(trace, cursor, distance);
}

/** Read a cycle or manoeuvre from a CSV file: header `time_s` and one of `speed_kmh`,
 *  `decel_mps2`, `pedal_percent`; `grade_percent` and `speed_mph` (must agree) may follow a
 *  speed. Lines starting with # are comments. UTF-8 mark and CRLF are accepted. Every fault of
 *  the file is one `file:line:` message. `box` is the joining width (s) for speed traces.
 *
 *  Time starts at 0 and rises strictly; a speed trace has no step above 10 times its median step
 *  (rows are missing then), while a manoeuvre may have few points far apart. Speed 0..500 km/h,
 *  deceleration 0..15 m/s2, pedal 0..100 %, slope -40..40 %; the slope, a tangent, becomes a sine
 *  against the trace's own distance and may not change where the trace stands still.
 *  BW_E_INPUT, BW_E_IO, BW_E_MEMORY, BW_E_RANGE (box); on error *out is zeroed. */
BW_MUST_CHECK enum bw_status bw_trace_read(const char *path, double box, struct bw_trace *out,
                                           struct bw_diag *diag);

/** Add a grade (percent, positive uphill) to the whole way; 0 changes nothing. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_trace_add_grade(struct bw_trace *trace, double percent,
                                                struct bw_diag *diag);

/** Give `trace` a slope profile read from a CSV with `distance_m,grade_percent`, distance strictly
 *  rising from 0. BW_E_INPUT (also when the trace has a profile already), BW_E_IO, BW_E_MEMORY;
 *  on error the trace is left as it was. */
BW_MUST_CHECK enum bw_status bw_trace_read_grade(const char *path, struct bw_trace *trace,
                                                 struct bw_diag *diag);

#endif
