/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/kinematic.h"

#include <math.h>

struct bw_kinematic bw_kinematic_start(const struct bw_judge *judge, double speed) {
  return (struct bw_kinematic){.judge = judge, .speed_start = speed, .speed_end = speed};
}

void bw_kinematic_watch(struct bw_kinematic *check, const struct bw_sample *sample) {
  const double v0 = sample->speed_start;
  const double v1 = sample->speed_end;
  if (!(v1 > 0.0)) {
    return;
  }
  const struct bw_vehicle *vehicle = &check->judge->loaded->vehicle;
  const double dt = sample->duration;
  const double distance = 0.5 * (v0 + v1) * dt;
  check->speed_end = v1;
  check->height += distance * sample->sin_slope;
  check->road += dt * (vehicle->road_f0 * 0.5 * (v0 + v1) +
                       vehicle->road_f1 * (v0 * v0 + v0 * v1 + v1 * v1) / 3.0 +
                       vehicle->road_f2 * (v0 + v1) * (v0 * v0 + v1 * v1) * 0.25);
  if (check->judge->loaded->fidelity == BW_FIDELITY_SLIP) {
    check->brake += (sample->axle[0].contact_force + sample->axle[1].contact_force) * distance;
    return;
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    const double work = axle->machine_torque / check->judge->radius * distance;
    check->brake += bw_max(0.0, work);
    check->brake += axle->friction_torque / check->judge->radius * distance;
    check->drive += bw_max(0.0, -work);
  }
}

double bw_kinematic_residual(const struct bw_kinematic *check) {
  if (!(check->brake > BW_KINEMATIC_LEAST)) {
    return (double)NAN;
  }
  const struct bw_judge *judge = check->judge;
  const double v0 = check->speed_start;
  const double v1 = check->speed_end;
  const bool is_slip = judge->loaded->fidelity == BW_FIDELITY_SLIP;
  const double mass = is_slip ? judge->mass : judge->mass_effective;
  const double given =
      0.5 * mass * (v0 - v1) * (v0 + v1) - judge->mass * BW_GRAVITY * check->height - check->road;
  return fabs(given - (check->brake - check->drive)) / check->brake;
}
