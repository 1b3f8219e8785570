/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/machine.h"

#include <math.h>

const char *bw_limit_text(enum bw_limit limit) {
  static const char *const text_of[BW_LIMIT_COUNT] = {
#define BW_LIMIT_TEXT(name, text) text,
      BW_LIMIT_LIST(BW_LIMIT_TEXT)
#undef BW_LIMIT_TEXT
  };
  return (size_t)limit < BW_LIMIT_COUNT ? text_of[limit] : "unknown";
}

/* straight from 0 at `zero` to 1 at `full`; a step at `zero` when the two coincide */
static double ramp(double at, double zero, double full) {
  if (!(at > zero)) {
    return 0.0;
  }
  return at >= full ? 1.0 : (at - zero) / (full - zero);
}

/* Torque limit of machine and inverter when cool, N m, and which of its pieces it is. A torque
 * table carries no such distinction and counts as peak torque. */
static double envelope(const struct bw_machine *machine, double omega, double state_of_charge,
                       enum bw_limit *binding) {
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

/* factor 1 when cool, falling straight to continuous / peak */
static double derating(const struct bw_machine *machine, double temperature) {
  const double hot = ramp(temperature, machine->derate_start, machine->derate_end);
  const double lost = machine->shaft_torque_peak - machine->shaft_torque_continuous;
  if (!(hot > 0.0 && lost > 0.0)) {
    return 1.0;
  }
  return 1.0 - hot * lost / machine->shaft_torque_peak;
}

double bw_machine_both_limits(const struct bw_machine *machine,
                              const struct bw_machine_condition *condition, enum bw_limit *binding,
                              double *drive) {
  *binding = BW_LIMIT_NONE;
  *drive = 0.0;
  if (!machine->is_fitted) {
    return 0.0;
  }
  const double cool = envelope(machine, condition->omega, condition->state_of_charge, binding);
  if (*binding == BW_LIMIT_SPEED) {
    return 0.0;
  }
  const double heat = derating(machine, condition->temperature);
  const double slow = ramp(condition->speed, machine->low_speed_zero, machine->low_speed_full);
  if (slow < 1.0 && slow <= heat) {
    *binding = BW_LIMIT_LOW_SPEED;
  } else if (heat < 1.0) {
    *binding = BW_LIMIT_DERATING;
  }
  *drive = cool * heat;
  return cool * heat * slow;
}

double bw_machine_brake_limit(const struct bw_machine *machine,
                              const struct bw_machine_condition *condition,
                              enum bw_limit *binding) {
  double unused = 0.0;
  return bw_machine_both_limits(machine, condition, binding, &unused);
}

double bw_machine_drive_limit(const struct bw_machine *machine,
                              const struct bw_machine_condition *condition) {
  enum bw_limit unused = BW_LIMIT_NONE;
  double drive = 0.0;
  (void)bw_machine_both_limits(machine, condition, &unused, &drive);
  return drive;
}

/* The loss map at one speed: straight lines over torque between the map's own points. */
struct map_walk {
  const struct bw_table2 *map;
  struct bw_table_place at;
  double omega;
};

static struct map_walk walk_start(const struct bw_machine *machine, double omega) {
  return (struct map_walk){&machine->loss_map, bw_table2_place_x(&machine->loss_map, omega), omega};
}

/* generated power at torque point j of the map */
static double walk_power(const struct map_walk *walk, size_t j) {
  const struct bw_table2 *map = walk->map;
  const double low = map->z[walk->at.low * map->ny + j];
  const double high = map->z[walk->at.high * map->ny + j];
  return map->y[j] * walk->omega - (low + walk->at.share * (high - low));
}

static double map_torque_for_power(const struct bw_machine *machine, double omega, double power,
                                   double torque) {
  const struct map_walk walk = walk_start(machine, omega);
  double from = 0.0;
  double reached = bw_machine_generated(machine, omega, 0.0);
  if (reached >= power) {
    return 0.0;
  }
  for (size_t j = 0; j < walk.map->ny; j++) {
    const double to = walk.map->y[j];
    if (!(to > from)) {
      continue;
    }
    if (to >= torque) {
      break;
    }
    const double next = walk_power(&walk, j);
    if (next >= power) {
      return from + (to - from) * (power - reached) / (next - reached);
    }
    from = to;
    reached = next;
  }
  const double end = bw_machine_generated(machine, omega, torque);
  return end > power ? from + (torque - from) * (power - reached) / (end - reached) : torque;
}

double bw_machine_torque_for_power(const struct bw_machine *machine, double omega, double power,
                                   double torque) {
  if (!(torque > 0.0)) {
    return torque;
  }
  if (machine->loss_map.nx > 0) {
    return map_torque_for_power(machine, omega, power, torque);
  }
  const double needed = power + bw_machine_no_load_loss(machine, omega);
  if (!(needed > 0.0)) {
    return 0.0;
  }
  const double discriminant = omega * omega - 4.0 * machine->loss_kt * needed;
  if (!(discriminant >= 0.0)) {
    return torque;
  }
  /* the lower root without cancellation, good for kT = 0 as well */
  const double divisor = omega + sqrt(discriminant);
  return 2.0 * needed < torque * divisor ? 2.0 * needed / divisor : torque;
}

static double map_best_torque(const struct bw_machine *machine, double omega, double torque) {
  const struct map_walk walk = walk_start(machine, omega);
  double best = 0.0;
  double most = bw_machine_generated(machine, omega, 0.0);
  for (size_t j = 0; j < walk.map->ny && walk.map->y[j] < torque; j++) {
    if (!(walk.map->y[j] > 0.0)) {
      continue;
    }
    const double power = walk_power(&walk, j);
    if (power > most) {
      most = power;
      best = walk.map->y[j];
    }
  }
  return bw_machine_generated(machine, omega, torque) > most ? torque : best;
}

double bw_machine_best_torque(const struct bw_machine *machine, double omega, double torque) {
  if (!(torque > 0.0)) {
    return torque;
  }
  if (machine->loss_map.nx > 0) {
    return map_best_torque(machine, omega, torque);
  }
  const double slope = 2.0 * machine->loss_kt;
  return slope * torque <= omega ? torque : omega / slope;
}
