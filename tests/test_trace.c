/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "alloc.h"
#include "input/trace.h"
#include "scratch.h"

static struct scratch scratch;

static int setup(void **state) {
  (void)state;
  scratch_open(&scratch);
  return 0;
}

static int teardown(void **state) {
  (void)state;
  scratch_close(&scratch);
  return 0;
}

static struct bw_trace read_good(const char *content, double box) {
  struct bw_trace trace;
  struct bw_diag diag = {0};
  if (bw_trace_read(scratch_write(&scratch, content), box, &trace, &diag) != BW_OK) {
    fail_msg("refused: %s", diag.line[0]);
  }
  assert_int_equal(diag.count, 0);
  return trace;
}

/** The first message must be `PATH:line: text...`. */
static void check_first(const struct bw_diag *diag, int line, const char *text) {
  char start[600];
  (void)snprintf(start, sizeof start, "%s:%d: %s", scratch.path, line, text);
  if (diag->count == 0 || strncmp(diag->line[0], start, strlen(start)) != 0) {
    fail_msg("message is '%s', wanted '%s...'", diag->line[0], start);
  }
  if (strstr(diag->line[0], "; ") == NULL && strchr(diag->line[0], '?') == NULL) {
    fail_msg("no cure in '%s'", diag->line[0]);
  }
}

static void refuse(const char *content, int line, const char *text) {
  static const struct bw_trace zero;
  struct bw_trace trace;
  struct bw_diag diag = {0};
  const char *path = scratch_write(&scratch, content);
  assert_int_equal(bw_trace_read(path, 0.2, &trace, &diag), BW_E_INPUT);
  check_first(&diag, line, text);
  assert_memory_equal(&trace, &zero, sizeof trace);
}

static double value_at(const struct bw_trace *trace, double time) {
  struct bw_trace_cursor cursor = {0};
  double value = 0.0;
  double derivative = 0.0;
  bw_trace_at(trace, &cursor, time, &value, &derivative);
  return value;
}

static double derivative_at(const struct bw_trace *trace, double time) {
  struct bw_trace_cursor cursor = {0};
  double value = 0.0;
  double derivative = 0.0;
  bw_trace_at(trace, &cursor, time, &value, &derivative);
  return derivative;
}

/* 0 to 10 m/s in 2 s, held 3 s, to rest in 4 s, at rest; joined over 0.4 s. By hand: around the
 * bend at 2 s the mean of the lines is 10 - 5/(2 x 0.4) (2.2 - t)^2 from 1.8 to 2.2 s. */
static const char WORKED[] = "time_s,speed_kmh\n0,0\n2,36\n5,36\n9,0\n13,0\n";

static void joined_bends_have_worked_values(void **state) {
  (void)state;
  struct bw_trace trace = read_good(WORKED, 0.4);
  assert_int_equal(trace.kind, BW_TRACE_SPEED);
  assert_int_equal(trace.n, 5);
  CHECK_CLOSE(bw_trace_duration(&trace), 13.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 1.0), 5.0, 1e-15); /* away from bends: the line itself */
  CHECK_CLOSE(derivative_at(&trace, 1.0), 5.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 1.9), 10.0 - 6.25 * 0.3 * 0.3, 1e-14);
  CHECK_CLOSE(derivative_at(&trace, 1.9), 5.0 * 0.3 / 0.4, 1e-14);
  CHECK_CLOSE(value_at(&trace, 2.0), 9.75, 1e-14);
  CHECK_CLOSE(derivative_at(&trace, 2.0), 2.5, 1e-14);
  CHECK_CLOSE(value_at(&trace, 3.7), 10.0, 1e-14);
  CHECK_CLOSE(derivative_at(&trace, 3.7), 0.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 5.0), 10.0 - 0.5 * 2.5 * 0.2 * 0.2 / 0.4, 1e-14);
  CHECK_CLOSE(derivative_at(&trace, 7.0), -2.5, 0.0);
  CHECK_CLOSE(value_at(&trace, 9.0), 0.5 * 2.5 * 0.2 * 0.2 / 0.4, 1e-14);
  CHECK_CLOSE(value_at(&trace, 9.2), 0.0, 1e-15);
  CHECK_CLOSE(value_at(&trace, 11.0), 0.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 0.0), 0.5 * 5.0 * 0.2 * 0.2 / 0.4, 1e-15); /* start held at 0 */
  CHECK_CLOSE(value_at(&trace, -1.0), 0.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 99.0), 0.0, 0.0);
  CHECK_CLOSE(derivative_at(&trace, 99.0), 0.0, 0.0);
  bw_trace_free(&trace);
}

static void straight_lines_without_a_box(void **state) {
  (void)state;
  struct bw_trace trace = read_good(WORKED, 0.0);
  CHECK_CLOSE(value_at(&trace, 2.0), 10.0, 0.0);
  CHECK_CLOSE(derivative_at(&trace, 0.0), 5.0, 0.0); /* at a point: the one behind it */
  CHECK_CLOSE(derivative_at(&trace, 2.0), 0.0, 0.0);
  CHECK_CLOSE(derivative_at(&trace, 5.0), -2.5, 0.0);
  CHECK_CLOSE(value_at(&trace, 6.0), 7.5, 1e-15);
  CHECK_CLOSE(value_at(&trace, 9.0), 0.0, 0.0);
  CHECK_CLOSE(derivative_at(&trace, 13.0), 0.0, 0.0);
  bw_trace_free(&trace);
}

static void moving_ends_are_held(void **state) {
  (void)state;
  struct bw_trace trace = read_good("time_s,speed_kmh\n0,72\n1,36\n", 0.4);
  CHECK_CLOSE(value_at(&trace, -0.3), 20.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 0.0), 20.0 - 0.5 * 10.0 * 0.2 * 0.2 / 0.4, 1e-14);
  CHECK_CLOSE(value_at(&trace, 1.0), 10.0 + 0.5 * 10.0 * 0.2 * 0.2 / 0.4, 1e-14);
  CHECK_CLOSE(value_at(&trace, 1.3), 10.0, 0.0);
  bw_trace_free(&trace);
}

enum { POINTS = 60 };

/** Random points: unequal steps, some at rest, dense enough that several fit into a box. */
static struct bw_trace random_trace(uint64_t *seed, double box) {
  double time[POINTS] = {0.0};
  double value[POINTS] = {0.0};
  for (size_t i = 1; i < POINTS; i++) {
    time[i] = time[i - 1] + test_uniform(seed, 0.03, 1.5);
    const double speed = test_uniform(seed, -10.0, 35.0);
    value[i] = speed < 0.0 || i < 2 || i > POINTS - 3 ? 0.0 : speed;
  }
  const struct bw_trace_points points = {BW_TRACE_SPEED, POINTS, time, value};
  struct bw_trace trace;
  assert_int_equal(bw_trace_make(&points, box, &trace, NULL), BW_OK);
  return trace;
}

static double steepest(const struct bw_trace *trace) {
  double most = 0.0;
  for (size_t i = 1; i < trace->n; i++) {
    most = fmax(most, fabs((trace->value[i] - trace->value[i - 1]) /
                           (trace->time[i] - trace->time[i - 1])));
  }
  return most;
}

/** Mean of the straight lines over the box by adding many thin slices, each the plain
 *  interpolation: slow and another way than the closed form. */
static double mean_by_slices(const struct bw_trace *trace, double time) {
  enum { SLICES = 20000 };
  double sum = 0.0;
  for (int k = 0; k < SLICES; k++) {
    const double at = time + trace->box * ((k + 0.5) / SLICES - 0.5);
    size_t i = 1;
    while (i < trace->n && trace->time[i] <= at) {
      i++;
    }
    if (at <= 0.0 || i == trace->n) {
      sum += at <= 0.0 ? trace->value[0] : trace->value[trace->n - 1];
    } else {
      const double part = (at - trace->time[i - 1]) / (trace->time[i] - trace->time[i - 1]);
      sum += trace->value[i - 1] + part * (trace->value[i] - trace->value[i - 1]);
    }
  }
  return sum / SLICES;
}

static void joined_value_is_the_mean_over_the_box(void **state) {
  (void)state;
  uint64_t seed = 4711;
  static const double boxes[] = {0.05, 0.2, 0.73, 4.1};
  for (size_t b = 0; b < 4; b++) {
    struct bw_trace trace = random_trace(&seed, boxes[b]);
    for (int i = 0; i < 60; i++) {
      const double time = test_uniform(&seed, -1.0, bw_trace_duration(&trace) + 1.0);
      /* a midpoint slice of straight lines errs only where it holds a bend */
      CHECK_CLOSE(value_at(&trace, time), mean_by_slices(&trace, time), 1e-5);
    }
    bw_trace_free(&trace);
  }
}

/* Walk with a fine step: v stays at or above zero, |a| at or below the table's, a has no jump
 * larger than its greatest rate 2 a_max / box allows, v is the integral of a, and the distance of
 * a trace that starts and ends at rest is the table's. */
static void joining_keeps_its_promises(void **state) {
  (void)state;
  uint64_t seed = 99173;
  for (int round = 0; round < 40; round++) {
    const double box = test_uniform(&seed, 0.05, 1.2);
    struct bw_trace trace = random_trace(&seed, box);
    const double most = steepest(&trace);
    const double end = bw_trace_duration(&trace) + box;
    const size_t steps = 40000;
    const double step = (end + box) / (double)steps;
    struct bw_trace_cursor cursor = {0};
    double v_before = 0.0;
    double a_before = 0.0;
    double distance = 0.0;
    bw_trace_at(&trace, &cursor, -box, &v_before, &a_before);
    for (size_t k = 1; k <= steps; k++) {
      double v = 0.0;
      double a = 0.0;
      bw_trace_at(&trace, &cursor, -box + (double)k * step, &v, &a);
      CHECK_WITHIN(v, 0.0, 35.0);
      CHECK_WITHIN(a, -most * (1.0 + 1e-12), most * (1.0 + 1e-12));
      CHECK_CLOSE(a, a_before, 2.0 * most / box * step * (1.0 + 1e-6));
      /* a bends at most a few times inside a step; trapezoid error below jump x step */
      CHECK_CLOSE(v - v_before, 0.5 * (a + a_before) * step, most / box * step * step);
      distance += 0.5 * (v + v_before) * step;
      v_before = v;
      a_before = a;
    }
    CHECK_CLOSE(v_before, 0.0, 0.0);
    CHECK_RELATIVE(distance, trace.integral[trace.n - 1], 1e-6);
    bw_trace_free(&trace);
  }
}

/* the last instants before a stop, where u0 + slope x time would round below zero */
static void speed_never_rounds_below_zero(void **state) {
  (void)state;
  uint64_t seed = 8;
  for (int i = 0; i < 2000; i++) {
    const double time[] = {0.0, test_uniform(&seed, 0.1, 2.0), test_uniform(&seed, 2.5, 9.0)};
    const double value[] = {0.0, test_uniform(&seed, 0.1, 40.0), 0.0};
    const struct bw_trace_points points = {BW_TRACE_SPEED, 3, time, value};
    struct bw_trace trace;
    assert_int_equal(bw_trace_make(&points, i % 2 == 0 ? 0.0 : 0.2, &trace, NULL), BW_OK);
    double at = time[2] + 0.5 * trace.box;
    for (int k = 0; k < 5; k++) {
      CHECK_WITHIN(value_at(&trace, at), 0.0, 1e-12);
      at = nextafter(at, 0.0);
    }
    bw_trace_free(&trace);
  }
}

static void any_order_of_times_gives_the_same(void **state) {
  (void)state;
  uint64_t seed = 31;
  struct bw_trace trace = random_trace(&seed, 0.2);
  struct bw_trace_cursor cursor = {0};
  for (int i = 0; i < 20000; i++) {
    const double time = test_uniform(&seed, -2.0, bw_trace_duration(&trace) + 2.0);
    double value = 0.0;
    double derivative = 0.0;
    bw_trace_at(&trace, &cursor, time, &value, &derivative);
    CHECK_CLOSE(value, value_at(&trace, time), 0.0);
    CHECK_CLOSE(derivative, derivative_at(&trace, time), 0.0);
  }
  double value = 0.0;
  double derivative = 0.0;
  bw_trace_at(&trace, &cursor, (double)NAN, &value, &derivative); /* must only not crash */
  bw_trace_at(&trace, &cursor, (double)INFINITY, &value, &derivative);
  CHECK_CLOSE(value_at(&trace, 3.0), value_at(&trace, 3.0), 0.0);
  bw_trace_free(&trace);
}

static void manoeuvres_are_straight_and_have_no_derivative(void **state) {
  (void)state;
  struct bw_trace trace = read_good("# invented\ntime_s,decel_mps2\n0,0\n0.4,6\n12,6\n", 0.2);
  assert_int_equal(trace.kind, BW_TRACE_DECEL);
  assert_string_equal(trace.source, "invented");
  assert_string_equal(trace.name, "input.csv");
  CHECK_CLOSE(trace.box, 0.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 0.1), 1.5, 1e-15);
  CHECK_CLOSE(derivative_at(&trace, 0.1), 0.0, 0.0);
  CHECK_CLOSE(value_at(&trace, 50.0), 6.0, 0.0);
  bw_trace_free(&trace);
  trace = read_good("time_s,pedal_percent\n0,0\n2,37\n", 0.0);
  assert_int_equal(trace.kind, BW_TRACE_PEDAL);
  CHECK_CLOSE(value_at(&trace, 1.0), 0.185, 1e-16);
  bw_trace_free(&trace);
}

/* 10 m/s throughout: 10 m of distance a second. 5 % is a sine of 0.05/sqrt(1 + 0.05^2). */
static void slope_per_time_becomes_slope_per_distance(void **state) {
  (void)state;
  struct bw_trace trace =
      read_good("time_s,speed_kmh,grade_percent\n0,36,0\n1,36,5\n3,36,5\n4,36,-5\n", 0.2);
  assert_int_equal(trace.grade_n, 4);
  struct bw_trace_cursor cursor = {0};
  const double sine = 0.05 / sqrt(1.0025);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, -4.0), 0.0, 0.0);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 5.0), 0.5 * sine, 1e-16);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 20.0), sine, 1e-16);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 35.0), 0.0, 1e-16);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 400.0), -sine, 1e-16);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 5.0), 0.5 * sine, 1e-16);
  bw_trace_free(&trace);
  trace = read_good(WORKED, 0.2);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 20.0), 0.0, 0.0);
  bw_trace_free(&trace);
}

static void slope_at_standstill_is_kept_or_refused(void **state) {
  (void)state;
  struct bw_trace trace = read_good(
      "time_s,speed_kmh,grade_percent\n0,0,3\n1,0,3\n2,36,1\n3,0,2\n4,0,2\n5,36,0\n", 0.2);
  assert_int_equal(trace.grade_n, 4); /* the two rows that stand fold */
  CHECK_CLOSE(trace.grade_distance[1], 5.0, 1e-15);
  CHECK_CLOSE(trace.grade_distance[2], 10.0, 1e-15);
  bw_trace_free(&trace);
  refuse("# c\ntime_s,speed_kmh,grade_percent\n0,36,3\n1,0,3\n2,0,2\n3,36,2\n", 5,
         "grade_percent changes from 3 to 2 while the car stands");
  refuse("time_s,speed_kmh,grade_percent\n0,0,3\n1,0,1\n2,36,2\n", 3,
         "grade_percent changes from 3 to 1 while the car stands");
}

static void bad_times_are_refused(void **state) {
  (void)state;
  refuse("time_s,speed_kmh\n3,0\n4,0\n", 2, "time_s starts at 3");
  refuse("# c\ntime_s,speed_kmh\n0,0\n2,5\n1,5\n3,0\n", 5, "time_s runs backwards at 1 after 2");
  refuse("time_s,speed_kmh\n0,0\n1,5\n1,6\n2,0\n", 4, "time_s stands still at 1");
  refuse("time_s,speed_kmh\n0,0\n1e300,5\n", 3, "time_s 1e+300 is above 1e+07 s");
  refuse("time_s,decel_mps2\n0,0\n10000001,5\n", 3, "time_s 10000001 is above 1e+07 s");
  refuse("time_s,speed_kmh\n0,0\n1,5\n2,5\n3,5\n33,5\n34,0\n", 6,
         "gap of 30 s after time_s 3, the usual step is 1 s");
  refuse("time_s,speed_kmh\n0,0\n", 2, "only one row");
  struct bw_trace trace = read_good("time_s,speed_kmh\n0,0\n1,5\n2,5\n12,5\n13,0\n", 0.2);
  bw_trace_free(&trace); /* ten usual steps are still no gap */
}

static void bad_values_are_refused(void **state) {
  (void)state;
  refuse("time_s,speed_kmh\n0,0\n1,-0.5\n", 3, "speed_kmh -0.5 is negative; give 0 to 500 km/h");
  refuse("time_s,speed_kmh\n0,0\n1,501\n", 3, "speed_kmh 501 is too large");
  refuse("time_s,decel_mps2\n0,0\n1,-1\n", 3, "decel_mps2 -1 is negative; give 0 to 15 m/s2");
  refuse("time_s,decel_mps2\n0,0\n1,15.5\n", 3, "decel_mps2 15.5 is too large");
  refuse("time_s,pedal_percent\n0,0\n1,101\n", 3, "pedal_percent 101 is too large");
  refuse("time_s,speed_kmh,grade_percent\n0,0,0\n1,5,41\n", 3, "grade_percent 41 is too steep");
  refuse("time_s,speed_kmh,grade_percent\n0,0,-41\n1,5,0\n", 2, "grade_percent -41 is too steep");
  refuse("time_s,speed_kmh,speed_mph\n0,0,0\n1,16.2,10\n", 3,
         "speed_mph 10 is 16.0934 km/h but speed_kmh is 16.2");
  refuse("time_s,speed_kmh\n0,0\n1,nan\n", 3, "'nan' in column 'speed_kmh' is not finite");
  struct bw_trace trace = read_good("time_s,speed_kmh,speed_mph\n0,0,0\n1,16.1,10\n", 0.2);
  bw_trace_free(&trace); /* 0.0066 km/h apart is rounding */
}

static void bad_columns_are_refused(void **state) {
  (void)state;
  refuse("time_s\n0\n1\n", 1, "value column is missing");
  refuse("speed_kmh\n0\n1\n", 1, "column 'time_s' is missing");
  refuse("# c\ntime_s,sped_kmh\n0,1\n", 2, "unknown column 'sped_kmh'; did you mean 'speed_kmh'?");
  refuse("time_s,speed_kmh,decel_mps2\n0,1,1\n1,1,1\n", 1, "more than one value column");
  refuse("time_s,decel_mps2,grade_percent\n0,1,1\n1,1,1\n", 1,
         "column 'grade_percent' goes with speed_kmh only");
  refuse("time_s,pedal_percent,speed_mph\n0,1,1\n1,1,1\n", 1,
         "column 'speed_mph' goes with speed_kmh only");
  refuse("time_s,time_s,speed_kmh\n0,0,1\n1,1,1\n", 1, "column 'time_s' appears twice");
}

static void all_faults_up_to_twenty_are_told(void **state) {
  (void)state;
  struct bw_trace trace;
  struct bw_diag diag = {0};
  assert_int_equal(bw_trace_read(scratch_write(&scratch, "time_s,speed_kmh\n1,0\n2,-4\n2,600\n"),
                                 0.2, &trace, &diag),
                   BW_E_INPUT);
  assert_int_equal(diag.count, 4);
  char text[600] = "time_s,speed_kmh\n";
  for (int i = 0; i < 50; i++) {
    (void)snprintf(text + strlen(text), 20, "%d,-1\n", i);
  }
  struct bw_diag many = {0};
  assert_int_equal(bw_trace_read(scratch_write(&scratch, text), 0.2, &trace, &many), BW_E_INPUT);
  assert_int_equal(many.count, 20);
}

static void slope_profile_is_read_or_refused(void **state) {
  (void)state;
  struct bw_trace trace = read_good(WORKED, 0.2);
  struct bw_diag diag = {0};
  static const struct {
    const char *text;
    int line;
    const char *message;
  } bad[] = {
      {"distance_m,grade_percent\n5,0\n9,1\n", 2, "distance_m starts at 5"},
      {"distance_m,grade_percent\n0,0\n9,1\n9,2\n", 4, "distance_m 9 does not rise above 9"},
      {"distance_m,grade_percent\n0,0\n9,50\n", 3, "grade_percent 50 is too steep"},
      {"distance_m,speed_kmh\n0,0\n", 1, "unknown column 'speed_kmh'"},
      {"distance_m\n0\n", 1, "column 'grade_percent' is missing"},
  };
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct bw_diag one = {0};
    assert_int_equal(bw_trace_read_grade(scratch_write(&scratch, bad[i].text), &trace, &one),
                     BW_E_INPUT);
    check_first(&one, bad[i].line, bad[i].message);
    assert_int_equal(trace.grade_n, 0);
  }
  const char *path = scratch_write(&scratch, "grade_percent,distance_m\n0,0\n10,100\n-10,150\n");
  assert_int_equal(bw_trace_read_grade(path, &trace, &diag), BW_OK);
  struct bw_trace_cursor cursor = {0};
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 100.0), 0.1 / sqrt(1.01), 1e-16);
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 125.0), 0.0, 1e-16);
  assert_int_equal(bw_trace_read_grade(path, &trace, &diag), BW_E_INPUT); /* has one already */
  assert_non_null(strstr(diag.line[0], "take one out"));
  CHECK_CLOSE(bw_trace_grade(&trace, &cursor, 100.0), 0.1 / sqrt(1.01), 1e-16);
  bw_trace_free(&trace);
}

static void make_takes_good_points_only(void **state) {
  (void)state;
  const double nan = (double)NAN;
  const double time[][3] = {{0, 1, 2}, {0, 2, 1}, {1, 2, 3}, {0, 1, 2}, {0, 1, 2}, {0, 1, nan}};
  const double value[][3] = {{1, 2, 3}, {1, 2, 3}, {1, 2, 3}, {1, -2, 3}, {1, nan, 3}, {1, 2, 3}};
  for (size_t i = 0; i < 6; i++) {
    const struct bw_trace_points points = {BW_TRACE_SPEED, 3, time[i], value[i]};
    struct bw_trace trace;
    struct bw_diag diag = {0};
    assert_int_equal(bw_trace_make(&points, 0.2, &trace, &diag), i == 0 ? BW_OK : BW_E_RANGE);
    assert_int_equal(diag.count, i == 0 ? 0 : 1);
    bw_trace_free(&trace);
    assert_int_equal(bw_trace_make(&points, -0.1, &trace, NULL), BW_E_RANGE);
    assert_int_equal(bw_trace_make(&points, nan, &trace, NULL), BW_E_RANGE);
  }
  const struct bw_trace_points one = {BW_TRACE_SPEED, 1, time[0], value[0]};
  struct bw_trace trace;
  assert_int_equal(bw_trace_make(&one, 0.2, &trace, NULL), BW_E_RANGE);
}

static bool allow_some(void *context) {
  size_t *left = context;
  if (*left == 0) {
    return false;
  }
  --*left;
  return true;
}

static void every_failing_allocation_is_memory(void **state) {
  (void)state;
  const char *path =
      scratch_write(&scratch, "time_s,speed_kmh,grade_percent\n0,0,1\n1,5,1\n2,0,2\n");
  for (size_t allowed = 0; allowed < 60; allowed++) {
    size_t left = allowed;
    struct bw_trace trace;
    struct bw_diag diag = {0};
    bw_alloc_set_hook(allow_some, &left);
    const enum bw_status status = bw_trace_read(path, 0.2, &trace, &diag);
    bw_alloc_set_hook(NULL, NULL);
    if (status == BW_OK) {
      assert_true(allowed > 10);
      bw_trace_free(&trace);
      return;
    }
    assert_int_equal(status, BW_E_MEMORY);
    assert_int_equal(diag.count, 1);
    assert_null(trace.time);
  }
  fail_msg("never enough memory");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(joined_bends_have_worked_values),
      cmocka_unit_test(straight_lines_without_a_box),
      cmocka_unit_test(moving_ends_are_held),
      cmocka_unit_test(joined_value_is_the_mean_over_the_box),
      cmocka_unit_test(joining_keeps_its_promises),
      cmocka_unit_test(speed_never_rounds_below_zero),
      cmocka_unit_test(any_order_of_times_gives_the_same),
      cmocka_unit_test(manoeuvres_are_straight_and_have_no_derivative),
      cmocka_unit_test(slope_per_time_becomes_slope_per_distance),
      cmocka_unit_test(slope_at_standstill_is_kept_or_refused),
      cmocka_unit_test(bad_times_are_refused),
      cmocka_unit_test(bad_values_are_refused),
      cmocka_unit_test(bad_columns_are_refused),
      cmocka_unit_test(all_faults_up_to_twenty_are_told),
      cmocka_unit_test(slope_profile_is_read_or_refused),
      cmocka_unit_test(make_takes_good_points_only),
      cmocka_unit_test(every_failing_allocation_is_memory),
  };
  return cmocka_run_group_tests(tests, setup, teardown);
}
