/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MAKE_CASE_H
#define BW_MAKE_CASE_H

#include "input/case.h"
#include "sim/run.h"

#include <stdint.h>

/** Cases built in memory, without files, and observers that write down what a run did.
 *
 *  The car is RV-1: 1500 kg, rolling coefficient 0.01, drag area 0.6 m2 at 1.202 kg/m3, no
 *  rotating masses, wheelbase 2.70 m, centre of gravity 1.20 m behind the front axle and 0.54 m
 *  high, wheel radius 0.32 m; rigid tyres; brakes without any delay; a battery without resistance
 *  that takes everything. Mass and coefficients are those remembered from the textbook of Ehsani,
 *  Gao and Emadi, the rest is chosen here. Tests change what they need. */

/** RV-1 without a machine. Free with free_case(). */
struct bw_case *make_case(void);

/** Free a made case; NULL is fine. */
void free_case(struct bw_case *made);

/** Fit a lossless machine without delay, heat, low-speed limit or inertia, ratio 1, to `axle`. */
void make_machine(struct bw_case *made, int axle, double torque_peak, double power_peak);

/** Give both friction brakes dead time and lag (s). */
void make_friction_delay(struct bw_case *made, double dead_time, double lag);

/** Give the case n points of a speed trace (m/s), a demanded deceleration (m/s2) or a pedal. The
 *  trace is joined by straight lines. */
void make_trace(struct bw_case *made, enum bw_trace_kind kind, const double *time,
                const double *value, size_t n);

/** A demand of constant `deceleration` from `speed` for at most `duration` s. */
void make_stop(struct bw_case *made, double speed, double deceleration, double duration);

/** A road of constant grade (rise over run). */
void make_grade(struct bw_case *made, double grade);

/** A case whose control period and step are `period` and `period / substeps`. */
void make_steps(struct bw_case *made, double period, size_t substeps);

/** What one control period looked like. */
struct test_row {
  double time; /**< s, start */
  double speed_start;
  double speed_end;
  double distance; /**< m since the start, at the end of the period */
  double deceleration;
  double demand;   /**< N m */
  double machine;  /**< N m, mean, both axles */
  double friction; /**< N m, mean, both axles */
};

/** What a run did: rows, and sums in J, N m s and N m. */
struct test_record {
  size_t n;
  size_t room;
  struct test_row *rows; /**< (n) */
  double machine_work;   /**< braking */
  double drive_work;     /**< driving */
  double friction_work;
  double road_work;
  double tyre_work;
  double terminals;      /**< net into the battery */
  double gap_area;       /**< integral of demand - delivered from `gap_from` on */
  double gap_peak;       /**< greatest demand - delivered of a sub-step from `gap_from` on */
  double gap_from;       /**< s, set before the run */
  double residual_worst; /**< largest |mechanical residual| of a period over its throughput */
  double kinetic_first;  /**< at the start of the run */
  uint64_t hash;         /**< of every value of every sample */
  struct bw_sample last;
};

/** Run `made` with `strategy` (params NULL: none) and fill *record, which the caller zeroed or
 *  whose `gap_from` alone is set. Fails the test when the run fails. Free with free_record(). */
void record_run(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                const double *params, struct test_record *record);

void free_record(struct test_record *record);

/** Time (s) and distance (m) at which a recorded car has slowed to `speed`; between two ticks the
 *  deceleration is taken as constant. Fails the test when it never does. */
void record_slowed(const struct test_record *record, double speed, double *time, double *distance);

/** Speed (m/s) at the end of the period that ends at `time`. */
double record_speed(const struct test_record *record, double time);

/** Speed (m/s) at the start of the first period in which friction gives more than `torque`, N m.
 *  Fails the test when it never does. */
double record_friction_above(const struct test_record *record, double torque);

/** Strategies of the tests: everything by friction (fixed proportion); everything by the machines
 *  as far as they go and nothing else; machines first, friction fills; 60 % of the demand by the
 *  machines, friction fills. None has any memory, fade or rise limit. */
extern const struct bw_blend_strategy TEST_FRICTION;
extern const struct bw_blend_strategy TEST_MACHINE;
extern const struct bw_blend_strategy TEST_FILL;
extern const struct bw_blend_strategy TEST_SIXTY;

/** Machines give way to friction while the demand is constant: their share falls straight from 1
 *  at `start_s` to 0 `ramp_s` later. */
extern const struct bw_blend_strategy TEST_RAMP;
enum { TEST_RAMP_START, TEST_RAMP_LENGTH, TEST_RAMP_PARAMS };

/** The machines' share falls straight from 1 at `from_mps` to 0 at `to_mps`, at the speed that
 *  the car will have in the middle of the period. */
extern const struct bw_blend_strategy TEST_FADE;
enum { TEST_FADE_FROM, TEST_FADE_TO, TEST_FADE_PARAMS };

#endif
