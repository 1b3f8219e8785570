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
