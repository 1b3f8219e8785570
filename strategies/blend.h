/* SPDX-License-Identifier: MIT-0 */
#ifndef BW_BLEND_H
#define BW_BLEND_H

#include <stddef.h>
#include <stdint.h>

/** The contract between the evaluator and a blending strategy.
 *
 *  A strategy decides, once per control period, how much of the demanded braking each machine
 *  and each friction brake shall supply. It sees only what a controller in a car could see.
 *  Its code is stateless: what it remembers lives in memory of `state_size` bytes that the
 *  evaluator owns, zeroes before `start` and hands to every call.
 *
 *  Units are SI without exception: N m, m/s, m/s2, W, s, K. All torques are at the axle, both
 *  wheels together, and positive when they retard the car. Index 0 is the front axle, 1 the rear.
 *
 *  This header alone is MIT-0, so that anybody's controller code may include it. */

/** Version of this contract. Any change of a struct, a flag or of what a value means raises it, one
 *  at the end of a struct too: a controller built against the longer struct would read past the end
 *  of the shorter one. The program takes its own version only and refuses every other; building the
 *  controller anew is all it takes.
 *  2: loss maps (machine_loss_map). */
#define BW_BLEND_ABI 2u

enum { BW_FRONT = 0, BW_REAR = 1, BW_AXLES = 2 };

/** How the friction brakes are plumbed. */
enum bw_blend_layout {
  BW_LAYOUT_PER_AXLE,     /**< each axle's pressure is free */
  BW_LAYOUT_COMMON,       /**< one pressure, fixed proportion between the axles */
  BW_LAYOUT_PEDAL_COUPLED /**< as common, and the pedal itself sets a floor under the pressure */
};

enum { BW_BLEND_TABLE_AXES = 3 };

/** A calibration table: values over a full grid of up to three axes, each strictly rising. Values
 *  and axes are in the unit of their column's suffix. The last axis runs fastest:
 *  values[(i * count[1] + j) * count[2] + k] belongs to axis[0][i], axis[1][j], axis[2][k];
 *  an axis that the table does not have counts 1. */
struct bw_blend_table {
  const char *name; /**< STRATEGY.TABLE as in the case, such as share-table.table */
  size_t axes;      /**< 1 .. BW_BLEND_TABLE_AXES */
  size_t count[BW_BLEND_TABLE_AXES];
  const double *axis[BW_BLEND_TABLE_AXES];
  const double *values;
};

enum { BW_BLEND_LOSS_POINTS = 48 /**< most points of either axis of a loss map */ };

/** A machine's loss map: what machine and inverter lose over shaft speed and size of the shaft
 *  torque, the same for driving and braking. Straight lines between the points along both axes,
 *  held constant outside. Both axes rise strictly and are >= 0; loss[i * torques + j] belongs to
 *  speed[i] and torque[j]. Read only, valid for the whole run. */
struct bw_blend_loss_map {
  size_t speeds;        /**< points of the first axis; 0: no map, machine_loss holds */
  size_t torques;       /**< points of the second axis */
  const double *speed;  /**< rad/s at the shaft (speeds), NULL without a map */
  const double *torque; /**< N m at the shaft (torques), NULL without a map */
  const double *loss;   /**< W (speeds x torques), NULL without a map */
};

/** What the controller was calibrated with: constant during a run. */
struct bw_blend_info {
  double period;                   /**< s, time between calls of `step` */
  double mass;                     /**< kg, as loaded */
  double wheelbase;                /**< m */
  double cg_to_front;              /**< m, centre of gravity behind the front axle */
  double cg_height;                /**< m */
  double tyre_radius;              /**< m, dynamic */
  double balance_slope;            /**< slope c of the rule z >= 0.1 + c (k - 0.2) */
  double felt_deceleration;        /**< m/s2, smallest dip a driver notices */
  double machine_torque_peak[2];   /**< N m at the axle, 0 where no machine is fitted */
  double machine_ratio[2];         /**< shaft turns per wheel turn, 0 where none */
  double machine_efficiency[2];    /**< of the gear, 0..1 */
  double machine_loss[2][4];       /**< k0 W, k1 W s, k2 W s2, kT W/(N m)^2, at the shaft; with a
                                        loss map no more than a guess at it */
  double machine_dead_time[2];     /**< s */
  double machine_lag[2];           /**< s */
  double friction_dead_time[2];    /**< s */
  double friction_lag[2];          /**< s */
  double friction_torque_max[2];   /**< N m at nominal pad friction and greatest pressure */
  double friction_per_pressure[2]; /**< N m/Pa, nominal; fixes the proportion of a common layout */
  double parallel_ratio;           /**< nominal machine share over friction share of the pedal */
  enum bw_blend_layout layout;
  /** Tables that the case gives, for whichever strategy; a strategy looks for its own by name and
   *  falls back to something sensible when it is not there. Valid for the whole run. */
  size_t table_count;
  const struct bw_blend_table *tables;          /**< (table_count) */
  int machine_gates_off[2];                     /**< 1: the machine costs nothing at zero torque */
  struct bw_blend_loss_map machine_loss_map[2]; /**< the plant's, in place of the four terms */
};

/** What the controller measures or is told, at the moment of the call. */
struct bw_blend_input {
  double time;           /**< s since the start of the run */
  double speed;          /**< m/s, >= 0 */
  double deceleration;   /**< m/s2, measured, positive when slowing */
  double demand_pedal;   /**< N m, braking asked for by the brake pedal, both axles together */
  double demand_overrun; /**< N m, asked for by releasing the accelerator */
  /** N m that each machine can brake with now, both machines at once: limits of torque, power,
   *  speed, temperature and battery together. Asking for no more than this is never clipped. */
  double machine_available[2];
  /** N m that a machine can brake with now if the other one gives nothing. */
  double machine_available_alone[2];
  double machine_available_continuous[2]; /**< N m, for as long as one likes */
  double machine_pulse_left[2];           /**< s for which machine_available will last */
  double machine_estimate[2];  /**< N m, the inverter's own estimate of the torque it gives */
  double friction_estimate[2]; /**< N m, (pressure - threshold) x nominal torque per pressure */
  double axle_load[2];         /**< N, estimated from the measured deceleration */
  double slip[2];              /**< 1, brake slip, 0 = free rolling */
  double charge_power;         /**< W, what the DC link can take now */
  double state_of_charge;      /**< 0..1 */
};

/** The answer: torques at the axle, each >= 0. Requests beyond what the hardware can do are
 *  clipped by the plant, counted and reported. */
struct bw_blend_request {
  double machine[2];  /**< N m */
  double friction[2]; /**< N m */
};

/** One parameter of a strategy. The value is handed over in the unit of its name's suffix. */
struct bw_blend_param {
  const char *name; /**< lower case with unit suffix, such as fade_start_kmh */
  double min;
  double max;
  double fallback;  /**< used when the case says nothing */
  const char *help; /**< one line */
};

/** A table that a strategy would like to be given. */
struct bw_blend_table_need {
  const char *name;    /**< lower case; the case's key is strategy.NAME.TABLE */
  const char *columns; /**< axes, then the value, by comma: speed_kmh,machine_share. Names with a
                            unit's suffix; a value called .._share lies in 0..1 */
  const char *help;    /**< one line */
};

enum {
  /** The strategy never uses a machine; accelerator release then gives no retardation either. */
  BW_BLEND_WITHOUT_MACHINE = 1,
  /** What becomes of an axle's machine while the antilock holds that axle's wheels back, at most
   * one of them; with none the car decides (antilock.regeneration_policy). Left alone: the strategy
   *  answers the slip by itself; cut: to zero at once; ramp-out: to zero at antilock.ramp; freeze:
   *  no more than at the start; modulate: let out and built up as pressure is. */
  BW_BLEND_ANTILOCK_KEEP = 2,
  BW_BLEND_ANTILOCK_CUT = 4,
  BW_BLEND_ANTILOCK_RAMP_OUT = 8,
  BW_BLEND_ANTILOCK_FREEZE = 16,
  BW_BLEND_ANTILOCK_MODULATE = 32
};

/** What a strategy is. `params` values arrive in the order of the table. */
struct bw_blend_strategy {
  uint32_t abi;        /**< BW_BLEND_ABI */
  uint32_t flags;      /**< BW_BLEND_WITHOUT_MACHINE, BW_BLEND_ANTILOCK_.. or 0 */
  const char *name;    /**< lower case, words joined by '-' */
  const char *summary; /**< one line */
  const struct bw_blend_param *params;
  size_t param_count;
  size_t state_size; /**< bytes */
  /** Prepare `state` (zeroed) for a run; may be NULL. */
  void (*start)(void *state, const struct bw_blend_info *info, const double *params);
  /** Decide. Must set every field of *request. */
  void (*step)(void *state, const struct bw_blend_info *info, const double *params,
               const struct bw_blend_input *input, struct bw_blend_request *request);
  const struct bw_blend_table_need *tables; /**< (table_count), NULL for none */
  size_t table_count;
};

/** What a shared object given as `--strategy ./mine.so` must define, under this name:
 *
 *      const struct bw_blend_strategy bw_blend_export = {.abi = BW_BLEND_ABI, .name = "mine", ...};
 *
 *  Build it with: cc -shared -fPIC -I FOLDER-OF-THIS-HEADER -o mine.so mine.c
 *  Each run happens in a process of its own that opens the object afresh: static variables start
 *  anew every time. What the controller prints goes to standard error. A crash, an endless loop,
 *  an exit, and a torque that is no number or beyond 1e6 N m end that run and no other. */
#define BW_BLEND_EXPORT_NAME "bw_blend_export"

#ifdef __cplusplus
extern "C" {
#endif
#ifdef __GNUC__
__attribute__((visibility("default"))) /* where hidden is the rule */
#endif
extern const struct bw_blend_strategy bw_blend_export; /* NOLINT: named as the program looks */
#ifdef __cplusplus
}
#endif

#endif
