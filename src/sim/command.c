/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/command.h"

#include "extrema.h"

#include <math.h>

/* N m at the axle: smaller excesses are rounding, not clipping */
static const double CLIP_TOLERANCE = 0.01;

static bool is_clipped(double request, double command) {
  return fabs(request - command) > CLIP_TOLERANCE;
}

static bool is_charge_bound(const struct bw_limits *limits, int i, double factor) {
  return limits->binding[i] == BW_LIMIT_CHARGE_CURRENT ||
         limits->binding[i] == BW_LIMIT_CHARGE_VOLTAGE || factor < 1.0 ||
         limits->joint[i] < limits->alone[i];
}

/* An axle without a machine keeps the commands of 0 that it started with. */
static void command_machines(struct bw_plant *plant, const struct bw_limits *limits,
                             const struct bw_order *order, struct bw_sample *sample) {
  const double *request = order->request.machine;
  double braking[2];
  for (int i = 0; i < 2; i++) {
    braking[i] = bw_min(bw_max(request[i], 0.0), limits->alone[i]);
  }
  const double factor =
      braking[0] > 0.0 && braking[1] > 0.0 ? bw_limits_scale(plant->loaded, limits, braking) : 1.0;
  const uint32_t bit[2] = {BW_CLIP_MACHINE_FRONT, BW_CLIP_MACHINE_REAR};
  for (int i = 0; i < 2; i++) {
    braking[i] *= factor;
    if (is_clipped(request[i], braking[i])) {
      sample->clipped |= bit[i];
    }
    sample->axle[i].machine_request = request[i];
    if (!plant->loaded->machine[i].is_fitted) {
      continue;
    }
    const double command = braking[i] - bw_min(order->drive[i], limits->drive[i]);
    plant->machine_command[i][plant->newest] = command;
    sample->axle[i].machine_command = command;
    if (command > 0.0 && command >= limits->joint[i] - CLIP_TOLERANCE &&
        is_charge_bound(limits, i, factor)) {
      sample->is_charge_capped = true;
    }
  }
}

/* what acts at the machines when the commands just issued are sent: a fault first, then the way */
static void send_commands(struct bw_plant *plant, struct bw_sample *sample) {
  const struct bw_case *loaded = plant->loaded;
  struct bw_message_count count = {0};
  for (int i = 0; i < 2; i++) {
    double *command = &plant->machine_command[i][plant->newest];
    if (!loaded->machine[i].is_fitted) {
      continue;
    }
    if (loaded->fault.kind != BW_FAULT_NONE) {
      *command = bw_fault_message(loaded, &plant->fault, i, *command, plant->newest);
    }
    if (plant->has_links) {
      *command = bw_message_pass(loaded, &plant->link[i], i, *command, &count);
    }
  }
  sample->messages_lost = count.lost;
  sample->message_age = count.age;
  sample->message_timed_out = count.timed_out;
}

/* one pressure above the threshold for both axles that gives `total` */
static void share_pressure(const struct bw_brakes *brakes, double total, double torque[2]) {
  const struct bw_friction *front = &brakes->axle[0];
  const struct bw_friction *rear = &brakes->axle[1];
  const double pressure = total / (front->per_pressure + rear->per_pressure);
  torque[0] = pressure * front->per_pressure;
  torque[1] = pressure * rear->per_pressure;
}

/* no friction is asked for, and neither plumbing nor filling asks by itself */
static bool is_friction_free(const struct bw_brakes *brakes, const struct bw_order *order) {
  const double asked = fabs(order->request.friction[0]) + fabs(order->request.friction[1]);
  return asked <= 0.0 && (order->demand <= 0.0 ||
                          (brakes->layout != BW_LAYOUT_PEDAL_COUPLED && !brakes->is_prefilled));
}

static void release_friction(struct bw_plant *plant, const struct bw_order *order,
                             struct bw_sample *sample) {
  for (int i = 0; i < 2; i++) {
    plant->pressure_command[i][plant->newest] = 0.0;
    sample->axle[i].friction_request = order->request.friction[i];
    sample->axle[i].friction_command = 0.0;
  }
}

static void command_friction(struct bw_plant *plant, const struct bw_order *order,
                             struct bw_sample *sample) {
  const struct bw_brakes *brakes = &plant->loaded->brakes;
  double torque[2] = {bw_max(order->request.friction[0], 0.0),
                      bw_max(order->request.friction[1], 0.0)};
  const uint32_t bit[2] = {BW_CLIP_FRICTION_FRONT, BW_CLIP_FRICTION_REAR};
  for (int i = 0; i < 2; i++) {
    if (is_clipped(order->request.friction[i], torque[i])) {
      sample->clipped |= bit[i];
    }
  }
  double total = torque[0] + torque[1];
  if (brakes->layout == BW_LAYOUT_PEDAL_COUPLED) {
    const double floor_torque = order->demand_pedal / (1.0 + brakes->parallel_ratio);
    if (total < floor_torque - CLIP_TOLERANCE) {
      sample->clipped |= BW_CLIP_PEDAL_FLOOR;
    }
    total = bw_max(total, floor_torque);
  }
  if (brakes->layout != BW_LAYOUT_PER_AXLE) {
    share_pressure(brakes, total, torque);
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &brakes->axle[i];
    const double greatest = plant->friction_most[i];
    if (torque[i] > greatest + CLIP_TOLERANCE) {
      sample->clipped |= bit[i];
    }
    torque[i] = bw_min(torque[i], greatest);
    /* pads at rest on the disc while the driver brakes: no clearance to cross at a hand-over */
    const bool is_ready = torque[i] > 0.0 || (brakes->is_prefilled && order->demand > 0.0);
    plant->pressure_command[i][plant->newest] =
        is_ready && friction->per_pressure > 0.0
            ? friction->threshold + torque[i] / friction->per_pressure
            : 0.0;
    sample->axle[i].friction_request = order->request.friction[i];
    sample->axle[i].friction_command = torque[i];
  }
}

void bw_command_issue(struct bw_plant *plant, const struct bw_limits *limits,
                      const struct bw_order *order, struct bw_sample *sample) {
  plant->newest = (plant->newest + 1) % BW_DELAY_PERIODS;
  sample->clipped = 0;
  sample->is_charge_capped = false;
  command_machines(plant, limits, order, sample);
  if (plant->has_links || plant->loaded->fault.kind != BW_FAULT_NONE) {
    send_commands(plant, sample);
  }
  if (is_friction_free(&plant->loaded->brakes, order)) {
    release_friction(plant, order, sample);
  } else {
    command_friction(plant, order, sample);
  }
}
