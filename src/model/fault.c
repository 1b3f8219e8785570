/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/fault.h"

bool bw_fault_needs_machine(enum bw_fault_kind kind) {
  return kind == BW_FAULT_MACHINE_TRIP || kind == BW_FAULT_SHORTED || kind == BW_FAULT_LATE ||
         kind == BW_FAULT_FROZEN || kind == BW_FAULT_LOST || kind == BW_FAULT_SIGN ||
         kind == BW_FAULT_TORQUE_BIAS;
}

static bool is_on(enum bw_fault_axle axles, int axle) {
  return axles == BW_FAULT_BOTH_AXLES || (axles == BW_FAULT_FRONT_AXLE) == (axle == 0);
}

bool bw_fault_hits(const struct bw_fault *fault, int axle) {
  if (fault->kind == BW_FAULT_CIRCUIT) {
    return fault->circuit == BW_FAULT_CIRCUIT_DIAGONAL ||
           (fault->circuit == BW_FAULT_CIRCUIT_FRONT) == (axle == 0);
  }
  if (fault->kind == BW_FAULT_BOOSTER || fault->kind == BW_FAULT_CONTACTOR_OPEN ||
      fault->kind == BW_FAULT_CHARGE_LIMIT) {
    return true;
  }
  return is_on(fault->kind == BW_FAULT_DRAG ? fault->drag_axle : fault->axle, axle);
}
