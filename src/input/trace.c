/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/trace.h"

#include "alloc.h"

#include <math.h>
#include <string.h>

void bw_trace_free(struct bw_trace *trace) {
  if (!trace->is_loan) {
    bw_free(trace->time);
    bw_free(trace->value);
    bw_free(trace->slope);
    bw_free(trace->integral);
    bw_free(trace->grade_distance);
    bw_free(trace->grade_sin);
  }
  memset(trace, 0, sizeof *trace);
}

double bw_trace_duration(const struct bw_trace *trace) {
  return trace->time[trace->n - 1];
}

static enum bw_status check_points(const struct bw_trace_points *points, double box,
                                   struct bw_diag *diag) {
  if (points->n < 2) {
    return bw_fail(diag, BW_E_RANGE, "a trace needs at least 2 points, got %zu", points->n);
  }
  if (!(isfinite(box) && box >= 0.0)) {
    return bw_fail(diag, BW_E_RANGE, "joining width must be 0 s or more, got %g s", box);
  }
  if (fabs(points->time[0]) > 0.0) {
    return bw_fail(diag, BW_E_RANGE, "a trace must start at 0 s, got %g s", points->time[0]);
  }
  for (size_t i = 0; i < points->n; i++) {
    const bool is_rising = i == 0 || points->time[i] > points->time[i - 1];
    if (!is_rising || !isfinite(points->time[i])) {
      return bw_fail(diag, BW_E_RANGE, "time of point %zu must rise, got %g s", i + 1,
                     points->time[i]);
    }
    if (!(isfinite(points->value[i]) && points->value[i] >= 0.0)) {
      return bw_fail(diag, BW_E_RANGE, "value of point %zu must be 0 or more, got %g", i + 1,
                     points->value[i]);
    }
    if (i > 0 && !isfinite((points->value[i] - points->value[i - 1]) /
                           (points->time[i] - points->time[i - 1]))) {
      return bw_fail(diag, BW_E_RANGE, "point %zu is too close behind point %zu, %g s", i + 1, i,
                     points->time[i] - points->time[i - 1]);
    }
  }
  return BW_OK;
}

enum bw_status bw_trace_make(const struct bw_trace_points *points, double box, struct bw_trace *out,
                             struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  BW_TRY(check_points(points, box, diag));
  const size_t n = points->n;
  out->kind = points->kind;
  out->n = n;
  out->box = points->kind == BW_TRACE_SPEED ? box : 0.0;
  out->time = bw_alloc(n, sizeof *out->time);
  out->value = bw_alloc(n, sizeof *out->value);
  out->slope = bw_alloc(n, sizeof *out->slope);
  out->integral = bw_alloc(n, sizeof *out->integral);
  if (out->time == NULL || out->value == NULL || out->slope == NULL || out->integral == NULL) {
    bw_trace_free(out);
    return bw_fail(diag, BW_E_MEMORY, "no memory for a trace of %zu points", n);
  }
  memcpy(out->time, points->time, n * sizeof *out->time);
  memcpy(out->value, points->value, n * sizeof *out->value);
  for (size_t i = 1; i < n; i++) {
    const double step = out->time[i] - out->time[i - 1];
    out->slope[i - 1] = (out->value[i] - out->value[i - 1]) / step;
    out->integral[i] = out->integral[i - 1] + 0.5 * step * (out->value[i] + out->value[i - 1]);
  }
  return BW_OK;
}

/** Number of knots at or below `x`, by halving. NaN gives 0. */
static size_t search_place(const double *knots, size_t n, double x) {
  size_t low = 0;
  size_t high = n;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (knots[middle] <= x) {
      low = middle + 1;
    } else {
      high = middle;
    }
  }
  return low;
}

static bool is_place(const double *knots, size_t n, size_t place, double x) {
  return (place == 0 || knots[place - 1] <= x) && (place >= n || x < knots[place]);
}

/** Number of knots at or below `x`, 0..n: the segment is [place - 1, place], 0 lies before the
 *  first and n behind the last knot. Keeps or steps `hint` where it can. */
static inline size_t find_place(const double *knots, size_t n, size_t hint, double x) {
  if (hint <= n && is_place(knots, n, hint, x)) {
    return hint;
  }
  if (hint < n && is_place(knots, n, hint + 1, x)) {
    return hint + 1;
  }
  return search_place(knots, n, x);
}

/** Straight line that starts from the lower end of its segment, so that it never falls below either
 *  end by rounding. */
struct line {
  double knot;
  double value;
  double slope;
};

static inline double line_value(const struct line *line, double x) {
  return line->value + line->slope * (x - line->knot);
}

/** Line between the two points at `knots` and `values`. */
static inline struct line line_between(const double *knots, const double *values, double slope) {
  const size_t low = slope < 0.0 ? 1 : 0;
  return (struct line){knots[low], values[low], slope};
}

/** The trace's line in segment `place`, ends held. */
static inline struct line line_in(const struct bw_trace *trace, size_t place) {
  if (place == 0 || place == trace->n) {
    const size_t end = place == 0 ? 0 : trace->n - 1;
    return (struct line){trace->time[end], trace->value[end], 0.0};
  }
  return line_between(trace->time + place - 1, trace->value + place - 1, trace->slope[place - 1]);
}

/** Times at which segment `place` begins and ends; before the first and behind the last point it
 *  reaches for ever. */
static inline double begin_of(const struct bw_trace *trace, size_t place) {
  return place > 0 ? trace->time[place - 1] : -(double)INFINITY;
}

static inline double end_of(const struct bw_trace *trace, size_t place) {
  return place < trace->n ? trace->time[place] : (double)INFINITY;
}

/** Move the cursor's bend to where both edges of the box lie, in different segments. */
static void move_bend(const struct bw_trace *trace, struct bw_trace_cursor *cursor) {
  const size_t first = cursor->left;     /* first knot inside the box */
  const size_t last = cursor->right - 1; /* last knot inside the box */
  const struct line left = line_in(trace, cursor->left);
  const struct line right = line_in(trace, cursor->right);
  cursor->bend = (struct bw_trace_bend){
      .left_low = begin_of(trace, cursor->left),
      .left_high = end_of(trace, cursor->left),
      .right_low = begin_of(trace, cursor->right),
      .right_high = end_of(trace, cursor->right),
      .left_knot = left.knot,
      .left_value = left.value,
      .left_slope = left.slope,
      .right_knot = right.knot,
      .right_value = right.value,
      .right_slope = right.slope,
      .first_time = trace->time[first],
      .first_value = trace->value[first],
      .last_time = trace->time[last],
      .last_value = trace->value[last],
      .between = trace->integral[last] - trace->integral[first],
  };
}

/** Move the cursor's line to its segment. Before the first and behind the last point it reaches
 *  for ever. */
static void move_line(const struct bw_trace *trace, struct bw_trace_cursor *cursor) {
  const double half = 0.5 * trace->box;
  const size_t place = cursor->left;
  const struct line line = line_in(trace, place);
  cursor->line = (struct bw_trace_line){
      .from = begin_of(trace, place) + half,
      .to = end_of(trace, place) - half,
      .knot = line.knot,
      .value = line.value,
      .slope = line.slope,
      .derivative = trace->kind == BW_TRACE_SPEED ? line.slope : 0.0,
  };
}

void bw_trace_find(const struct bw_trace *trace, struct bw_trace_cursor *cursor, double time,
                   double *value, double *derivative) {
  const double half = 0.5 * trace->box;
  cursor->left = find_place(trace->time, trace->n, cursor->left, time - half);
  cursor->right = find_place(trace->time, trace->n, cursor->right, time + half);
  if (cursor->right > cursor->left) {
    move_bend(trace, cursor);
    bw_trace_on_bend(&cursor->bend, trace->box, time - half, time + half, value, derivative);
    return;
  }
  /* one segment: the mean of a straight line is its middle */
  move_line(trace, cursor);
  const struct bw_trace_line *line = &cursor->line;
  const bool is_held = cursor->left == 0 || cursor->left == trace->n; /* a time of NaN as well */
  *value = is_held ? line->value : line->value + line->slope * (time - line->knot);
  *derivative = line->derivative;
}

enum bw_status bw_trace_add_grade(struct bw_trace *trace, double percent, struct bw_diag *diag) {
  if (!(fabs(percent) > 0.0)) {
    return BW_OK;
  }
  if (trace->grade_n == 0) {
    trace->grade_distance = bw_alloc(1, sizeof *trace->grade_distance);
    trace->grade_sin = bw_alloc(1, sizeof *trace->grade_sin);
    if (trace->grade_distance == NULL || trace->grade_sin == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "out of memory for a grade");
    }
    trace->grade_n = 1;
  }
  for (size_t i = 0; i < trace->grade_n; i++) {
    const double tangent = tan(asin(trace->grade_sin[i])) + percent / 100.0;
    trace->grade_sin[i] = sin(atan(tangent));
  }
  return BW_OK;
}

double bw_trace_grade_on(const struct bw_trace *trace, struct bw_trace_cursor *cursor,
                         double distance) {
  const size_t n = trace->grade_n;
  cursor->grade = find_place(trace->grade_distance, n, cursor->grade, distance);
  const size_t place = cursor->grade;
  if (place == 0 || place == n) {
    return trace->grade_sin[place == 0 ? 0 : n - 1];
  }
  const double *knots = trace->grade_distance + place - 1;
  const double *sines = trace->grade_sin + place - 1;
  const struct line line =
      line_between(knots, sines, (sines[1] - sines[0]) / (knots[1] - knots[0]));
  return line_value(&line, distance);
}
