/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MACHINE_H
#define BW_MACHINE_H

#include "model/table.h"

#include <stdbool.h>

/** One electric machine with inverter and reduction gear: envelope, losses, thermal derating.
 *
 *  Torque limit at the shaft, motoring and generating alike:
 *    T_max(w) = min(T_peak, P_peak / w, beyond w_b: P_peak w_b / w^2) x derating x low-speed limit
 *  or a table over speed (and state of charge) in place of the first three. The low-speed limit
 *  holds for generating only: 0 below low_speed_zero, 1 above low_speed_full, straight between,
 *  in road speed.
 *  Loss (W): k0 + k1 w + k2 w^2 + kT T^2, or a map over (w, T). DC power, positive into the
 *  battery: generating T w - loss, motoring -(T w + loss).
 *  Gear: braking shaft torque = axle torque x efficiency / ratio; driving axle torque = shaft
 *  torque x efficiency x ratio.
 *  Thermal: C dT/dt = loss - G (T - T_coolant). Derating falls straight from 1 at derate_start
 *  to continuous / peak at derate_end and stays there. */
struct bw_machine {
  bool is_fitted;
  bool is_gated_off_idle;         /**< true: no no-load loss while no torque is asked for */
  double shaft_torque_peak;       /**< N m */
  double shaft_torque_continuous; /**< N m */
  double power_peak;              /**< W, mechanical */
  double omega_max;               /**< rad/s at the shaft; no torque above */
  double omega_breakdown;         /**< rad/s, start of the 1/w^2 range */
  double low_speed_zero;          /**< m/s road speed */
  double low_speed_full;          /**< m/s road speed, > low_speed_zero */
  double ratio;                   /**< shaft turns per wheel turn */
  double efficiency;              /**< of the gear, 0..1 */
  double inertia;                 /**< kg m2 at the shaft */
  double loss_k0;                 /**< W */
  double loss_k1;                 /**< W s/rad */
  double loss_k2;                 /**< W s2/rad2 */
  double loss_kt;                 /**< W/(N m)^2 */
  struct bw_table2 loss_map;      /**< W over (rad/s, N m magnitude); empty: the polynomial */
  struct bw_table2 torque_table;  /**< N m over (rad/s, state of charge 0..1); empty: formula */
  double dead_time;               /**< s */
  double lag;                     /**< s, first order */
  double shaft_slew;              /**< N m/s */
  double heat_capacity;           /**< J/K */
  double cooling;                 /**< W/K */
  double coolant_temperature;     /**< K */
  double start_temperature;       /**< K */
  double derate_start;            /**< K */
  double derate_end;              /**< K */
};

/** What caps a machine's braking torque, or the braking power, at one moment. */
#define BW_LIMIT_LIST(X)                                                                           \
  X(BW_LIMIT_NONE, "none")                                                                         \
  X(BW_LIMIT_PEAK_TORQUE, "peak_torque")                                                           \
  X(BW_LIMIT_PEAK_POWER, "peak_power")                                                             \
  X(BW_LIMIT_FIELD, "field")                                                                       \
  X(BW_LIMIT_SPEED, "speed")                                                                       \
  X(BW_LIMIT_LOW_SPEED, "low_speed")                                                               \
  X(BW_LIMIT_DERATING, "derating")                                                                 \
  X(BW_LIMIT_CHARGE_CURRENT, "charge_current")                                                     \
  X(BW_LIMIT_CHARGE_VOLTAGE, "charge_voltage")

enum bw_limit {
#define BW_LIMIT_ENUM(name, text) name,
  BW_LIMIT_LIST(BW_LIMIT_ENUM)
#undef BW_LIMIT_ENUM
      BW_LIMIT_COUNT
};

/** Text of a limit as used in column names and tables; constant. */
const char *bw_limit_text(enum bw_limit limit);

/** State that the limits depend on. */
struct bw_machine_condition {
  double speed;           /**< m/s, road */
  double omega;           /**< rad/s at the shaft, >= 0 */
  double temperature;     /**< K */
  double state_of_charge; /**< 0..1 */
};

/** Greatest braking torque magnitude at the shaft (N m), battery not considered, and which limit
 *  binds. 0 when no machine is fitted. */
double bw_machine_brake_limit(const struct bw_machine *machine,
                              const struct bw_machine_condition *condition, enum bw_limit *binding);

/** Greatest driving torque magnitude at the shaft (N m), battery not considered. */
double bw_machine_drive_limit(const struct bw_machine *machine,
                              const struct bw_machine_condition *condition);

/** Straight from 0 at `zero` to 1 at `full`; a step at `zero` when the two coincide. */
static inline double bw_machine_ramp(double at, double zero, double full) {
  if (!(at > zero)) {
    return 0.0;
  }
  return at >= full ? 1.0 : (at - zero) / (full - zero);
}

/** Torque limit of machine and inverter when cool, N m, and which of its pieces it is. A torque
 *  table carries no such distinction and counts as peak torque. */
static inline double bw_machine_envelope(const struct bw_machine *machine, double omega,
                                         double state_of_charge, enum bw_limit *binding) {
  *binding = BW_LIMIT_PEAK_TORQUE;
  if (omega > machine->omega_max) {
    *binding = BW_LIMIT_SPEED;
    return 0.0;
  }
  if (machine->torque_table.nx > 0) {
    return bw_table2_at(&machine->torque_table, omega, state_of_charge);
  }
  const double peak = machine->shaft_torque_peak;
  /* compare powers, not torques: no division at standstill */
  if (omega <= machine->omega_breakdown) {
    if (peak * omega <= machine->power_peak) {
      return peak;
    }
    *binding = BW_LIMIT_PEAK_POWER;
    return machine->power_peak / omega;
  }
  const double field = machine->power_peak * machine->omega_breakdown;
  if (peak * omega * omega <= field) {
    return peak;
  }
  *binding = BW_LIMIT_FIELD;
  return field / (omega * omega);
}

/** Factor that heat leaves of the torque limit: 1 when cool, falling straight to continuous / peak.
 */
static inline double bw_machine_derating(const struct bw_machine *machine, double temperature) {
  const double lost = machine->shaft_torque_peak - machine->shaft_torque_continuous;
  if (!(temperature > machine->derate_start && lost > 0.0)) {
    return 1.0;
  }
  return 1.0 - bw_machine_ramp(temperature, machine->derate_start, machine->derate_end) * lost /
                   machine->shaft_torque_peak;
}

/** Both limits at once, which share the envelope: bw_machine_brake_limit() is returned,
 *  bw_machine_drive_limit() goes to *drive. Asked for in every period. */
static inline double bw_machine_both_limits(const struct bw_machine *machine,
                                            const struct bw_machine_condition *condition,
                                            enum bw_limit *binding, double *drive) {
  *binding = BW_LIMIT_NONE;
  *drive = 0.0;
  if (!machine->is_fitted) {
    return 0.0;
  }
  const double cool =
      bw_machine_envelope(machine, condition->omega, condition->state_of_charge, binding);
  if (*binding == BW_LIMIT_SPEED) {
    return 0.0;
  }
  const double heat = bw_machine_derating(machine, condition->temperature);
  const double slow =
      bw_machine_ramp(condition->speed, machine->low_speed_zero, machine->low_speed_full);
  if (slow < 1.0 && slow <= heat) {
    *binding = BW_LIMIT_LOW_SPEED;
  } else if (heat < 1.0) {
    *binding = BW_LIMIT_DERATING;
  }
  *drive = cool * heat;
  return cool * heat * slow;
}

/** Loss (W) at zero torque by the polynomial. */
static inline double bw_machine_no_load_loss(const struct bw_machine *machine, double omega) {
  return machine->loss_k0 + omega * (machine->loss_k1 + omega * machine->loss_k2);
}

/** Loss of machine and inverter (W) at shaft torque magnitude `torque` (N m) and speed `omega`
 *  (rad/s). `is_asked` false and a gated-off idle: 0 at zero torque. */
static inline double bw_machine_loss(const struct bw_machine *machine, double omega, double torque,
                                     bool is_asked) {
  if (!is_asked && machine->is_gated_off_idle && !(torque > 0.0)) {
    return 0.0;
  }
  if (machine->loss_map.nx > 0) {
    return bw_table2_at(&machine->loss_map, omega, torque);
  }
  return bw_machine_no_load_loss(machine, omega) + machine->loss_kt * torque * torque;
}

/** DC power (W, positive into the battery) when generating with shaft torque `torque` >= 0. */
static inline double bw_machine_generated(const struct bw_machine *machine, double omega,
                                          double torque) {
  return torque * omega - bw_machine_loss(machine, omega, torque, true);
}

/** Smallest shaft torque (N m) at which generating reaches the DC power `power` (W), or `torque`
 *  if it never does up to there: the first of the two roots
 *    T = [w - sqrt(w^2 - 4 kT (P + P0))] / (2 kT),   P0 the no-load loss;
 *  with a map the first crossing walking up from 0. */
double bw_machine_torque_for_power(const struct bw_machine *machine, double omega, double power,
                                   double torque);

/** Shaft torque in 0..`torque` at which generated power is greatest (T* = w / (2 kT) or the best
 *  point of the map), N m. */
double bw_machine_best_torque(const struct bw_machine *machine, double omega, double torque);

#endif
