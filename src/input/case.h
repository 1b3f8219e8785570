/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CASE_H
#define BW_CASE_H

#include "input/trace.h"
#include "model/battery.h"
#include "model/disc.h"
#include "model/driveline.h"
#include "model/fault.h"
#include "model/friction.h"
#include "model/hydraulics.h"
#include "model/machine.h"
#include "model/park.h"
#include "model/signal.h"
#include "model/surface.h"
#include "model/tyre.h"
#include "model/vehicle.h"
#include "status.h"
#include "strategies/blend.h"

#include <stdbool.h>

/** Everything one run needs, validated and in SI units. Constant during runs: one case serves
 *  many runs at once. Create with bw_case_load(), free with bw_case_destroy(). */

enum bw_decel_means { BW_DECEL_BRAKE, BW_DECEL_VEHICLE };
enum bw_overrun_fill { BW_OVERRUN_FILL_NONE, BW_OVERRUN_FILL_FRICTION };

struct bw_driver {
  double gain;              /**< 1/s, kp */
  double integral_gain;     /**< 1/s2, ki */
  double stop_deceleration; /**< m/s2, least braking while the trace stands and the car rolls */
  double hold_deceleration; /**< m/s2, brake demand held at rest */
  double drive_front_share; /**< 0..1 of the driving torque wanted from the front machine */
  enum bw_decel_means decel_means;
  double initial_speed;           /**< m/s, manoeuvres */
  double pedal_full_deceleration; /**< m/s2 of brake demand at pedal 100 % */
  double soft_stop_speed;         /**< m/s, manoeuvres: below, the brake demand eases; 0: never */
  double soft_stop_share; /**< 0..1 of it that is left at rest, above what holds on the grade */
  bool goes_on_at_rest;   /**< slip: a manoeuvre runs to its table's end, not to rest */
};

struct bw_overrun {
  double deceleration; /**< m/s2 asked for on accelerator release, 0: none */
  double fade_zero;    /**< m/s, nothing below */
  double fade_full;    /**< m/s, all above */
  enum bw_overrun_fill fill;
};

struct bw_assess_options {
  double felt_deceleration;      /**< m/s2, smallest dip a driver notices */
  double jerk_cutoff;            /**< Hz, second-order Butterworth */
  double balance_slope;          /**< c of z >= 0.1 + c (k - 0.2) */
  char balance_rule[32];         /**< name of the preset the slope came from, or "custom" */
  double balance_violation_time; /**< s, shorter excursions are lag transients */
  bool has_ceiling;              /**< ceilings and what is reached are worked out as well */
  bool has_antilock;             /**< curves are information then, failures otherwise */
  double lamp_on;                /**< m/s2, chosen stop lamp threshold in (0.7, 1.3] */
  double lamp_filter;            /**< s, first-order low-pass of the lamp's deceleration */
  double lamp_delay;             /**< s, shorter violations are the delay of sensing */
  double compensation_time;      /**< s in which a change of regeneration must be made good */
  double event_on;               /**< m/s2 of demand that starts a braking event */
  double event_off;              /**< m/s2 of demand that ends it */
  double event_gap;              /**< s, shorter gaps are merged */
};

/** Wheels: rolling with a slip that follows the force, or states of their own. */
enum bw_fidelity { BW_FIDELITY_ROLLING, BW_FIDELITY_SLIP };

/** What the machines do on an axle whose wheels the antilock controller holds back. */
enum bw_regeneration_policy {
  BW_REGENERATION_KEEP,     /**< nothing: the machine goes on as asked */
  BW_REGENERATION_CUT,      /**< to zero at once */
  BW_REGENERATION_RAMP_OUT, /**< to zero at antilock.ramp */
  BW_REGENERATION_FREEZE,   /**< never more than at the start of the intervention */
  BW_REGENERATION_MODULATE  /**< machine held back by slip like a pressure */
};

/** Generic slip controller in the friction path of each axle or wheel. */
struct bw_antilock {
  bool is_fitted;
  bool is_per_wheel; /**< on a split road each wheel has its own pressure; else the worse decides */
  double period;     /**< s between two decisions, a whole multiple of the plant sub-step */
  double slip_release; /**< slip ahead above which pressure is let out */
  double slip_build;   /**< slip ahead below which it is built up again */
  double lead;         /**< s, slip ahead = slip + lead x its rate */
  double build;        /**< Pa/s */
  double release;      /**< Pa/s */
  double off_speed;    /**< m/s, no intervention below */
  enum bw_regeneration_policy policy;
  double ramp;          /**< N m/s at the axle: ramp-out, modulation and return */
  double recovery;      /**< s without intervention until the machine may return */
  bool estimates_speed; /**< the car's speed from the wheels, see sim/wheel_sense.h; else known */
  double reference_margin; /**< m/s2, see there */
  double filter;           /**< s, first-order, of the wheel speeds as read; 0: none */
};

/** Settings of the fidelity `slip`; a rolling run reads none of them. */
struct bw_slip_setup {
  double step;      /**< s, wheel and shaft step; the plant sub-step is a whole multiple */
  double pitch_lag; /**< s, first-order lag of the load transfer, 0: none */
  struct bw_tyre tyre;
  struct bw_surface surface; /**< empty: tyre.peak everywhere */
  struct bw_driveline driveline[2];
  struct bw_hydraulics hydraulics[2]; /**< line delays are in friction dead_time already */
  struct bw_antilock antilock;
  double park_torque; /**< N m, park brake at the rear axle, 0: none */
  double park_after;  /**< s at rest until it is set */
};

/** What is known for the assessment alone; no run reads it. */
struct bw_assess_data {
  struct bw_park_brake park;
  double booster_fallback; /**< Pa that 500 N at the pedal give without the booster, 0: not known */
  struct bw_trace descent; /**< the user's descent as a speed trace with slope; n = 0: none */
};

/** Least friction work per axle, J/m of way; 0: off. See sim/rust_care.h. */
struct bw_rust_care {
  double work_per_distance[2];
};

enum { BW_ACCEPT_MAX = 32, BW_CASE_STRATEGIES_MAX = 32, BW_FAULT_CONDITIONS_MAX = 1024 };
/** One acceptance limit on a summary column, in the column's own unit. */
struct bw_accept {
  char column[64];
  bool has_min;
  bool has_max;
  double min;
  double max;
};

/** How a parameter spreads; see input/distribution.h. All in the key's edge unit. */
enum bw_distribution_kind {
  BW_DISTRIBUTION_NORMAL,
  BW_DISTRIBUTION_BOUNDED, /**< normal, truncated to min .. max */
  BW_DISTRIBUTION_UNIFORM,
  BW_DISTRIBUTION_TRIANGULAR
};
struct bw_distribution {
  enum bw_distribution_kind kind;
  bool has_centre;  /**< else the centre is the case's value */
  double centre;    /**< mean or mode */
  double deviation; /**< standard deviation before truncation; normal and bounded */
  double min;       /**< all but normal */
  double max;
};

enum { BW_TOLERANCES_MAX = 64, BW_TOLERANCE_TEXT_MAX = 96 };
/** The declared spread of one parameter. Only sampling reads it; a run does not. */
struct bw_tolerance {
  const char *key;                  /**< of the parameter table of the case */
  char text[BW_TOLERANCE_TEXT_MAX]; /**< as typed */
  struct bw_distribution distribution;
};

struct bw_param_values; /**< every parameter as typed, with where it came from; opaque */

struct bw_case {
  char name[BW_NAME_MAX];         /**< case file name without folder and suffix */
  char vehicle_name[BW_NAME_MAX]; /**< free text of the vehicle, may hold any character */
  char note[256];                 /**< free text: 'invented demo data ...' */
  struct bw_vehicle vehicle;
  struct bw_machine machine[2];
  struct bw_battery battery;
  struct bw_brakes brakes;
  struct bw_disc disc[2]; /**< rubbed faces, read by the assessment alone */
  struct bw_driver driver;
  struct bw_overrun overrun;
  struct bw_assess_options assess;
  double ambient_temperature; /**< K */
  double road_grade;          /**< rise over run, in trace.grade_sin already */
  double control_period;      /**< s */
  double step;                /**< s, plant sub-step; control_period is a whole multiple */
  double trace_period;        /**< s, spacing of trace rows, a whole multiple of control_period */
  enum bw_fidelity fidelity;
  struct bw_slip_setup slip;
  struct bw_trace trace;
  size_t accept_count;
  struct bw_accept accept[BW_ACCEPT_MAX];
  size_t tolerance_count;
  struct bw_tolerance tolerance[BW_TOLERANCES_MAX]; /**< in the order declared */
  size_t strategy_count;                            /**< 0: the case names none, all are meant */
  const struct bw_blend_strategy *strategies[BW_CASE_STRATEGIES_MAX];
  struct bw_rust_care rust_care;
  struct bw_fault fault;
  struct bw_sensors sensors;
  struct bw_message message;
  struct bw_seed seed;
  char fault_conditions[BW_FAULT_CONDITIONS_MAX]; /**< axes of a study, as typed */
  struct bw_assess_data assess_data;
  size_t table_count;
  struct bw_blend_table *tables; /**< (table_count) given to strategies */
  double *table_numbers;         /**< their axes and values */
  struct bw_param_values *values;
};

/** `key=value` as given on the command line, for instance battery.soc_percent=95. */
struct bw_override {
  const char *text;
};

/** Where a case comes from. */
struct bw_case_source {
  const char *path;     /**< case file */
  const char *data_dir; /**< holds cycles/ */
  size_t override_count;
  const struct bw_override *overrides; /**< (override_count) win over the file */
};

/** Read, resolve and validate a case file with its includes, tables and cycle.
 *  `data_dir` is the folder that holds cycles/ (catalogue). `overrides` win over the file.
 *  All faults found (up to BW_DIAG_LINES) are in *diag. On error *out is NULL. */
BW_MUST_CHECK enum bw_status bw_case_load(const char *path, const char *data_dir,
                                          const struct bw_override *overrides,
                                          size_t override_count, struct bw_case **out,
                                          struct bw_diag *diag);

struct bw_extra_strategies;

/** As bw_case_load(), and the case may name and set the parameters of `extra` strategies
 *  (input/param.h, NULL: none), which must live as long as the case. */
BW_MUST_CHECK enum bw_status bw_case_load_with(const struct bw_case_source *source,
                                               const struct bw_extra_strategies *extra,
                                               struct bw_case **out, struct bw_diag *diag);

/** Free a case; NULL is fine. */
void bw_case_destroy(struct bw_case *loaded);

/** Fill values[param_count of `strategy`] with the case's settings of strategy.NAME.* or the
 *  table's fallbacks; out-of-range values were refused by bw_case_load(). */
void bw_case_strategy_params(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                             double *values);

/** What a controller of this car is calibrated with. */
void bw_case_blend_info(const struct bw_case *loaded, struct bw_blend_info *info);

/** Effective mass m + rotating inertia reflected to the road (kg), derived. */
double bw_case_effective_mass(const struct bw_case *loaded);

/** Rotating inertia of an axle with its machine, seen at the axle (kg m2). */
double bw_case_axle_inertia(const struct bw_case *loaded, int axle);

#endif
