/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/vehicle.h"

#include <math.h>

void bw_vehicle_axle_loads(const struct bw_vehicle *vehicle, double sin_slope, double deceleration,
                           double load[2]) {
  const struct bw_load *now = &vehicle->load[vehicle->load_state];
  const double cos_slope = sqrt(1.0 - sin_slope * sin_slope);
  const double cg_to_rear = vehicle->wheelbase - now->cg_to_front;
  const double front = now->mass *
                       (BW_GRAVITY * cg_to_rear * cos_slope +
                        now->cg_height * (deceleration - BW_GRAVITY * sin_slope)) /
                       vehicle->wheelbase;
  load[0] = front;
  load[1] = now->mass * BW_GRAVITY * cos_slope - front;
}

double bw_vehicle_road_load(const struct bw_vehicle *vehicle, double speed) {
  return vehicle->road_f0 + speed * (vehicle->road_f1 + speed * vehicle->road_f2);
}
