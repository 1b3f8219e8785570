/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/vehicle.h"

double bw_vehicle_road_load(const struct bw_vehicle *vehicle, double speed) {
  return vehicle->road_f0 + speed * (vehicle->road_f1 + speed * vehicle->road_f2);
}
