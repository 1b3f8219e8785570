/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"

/** Checks between a fault and the rest of its case. */

enum { LONGEST_DELAY = 255 }; /* control periods kept of messages, see sim/fault.h */

static void check_size(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  const struct bw_fault *fault = &target->fault;
  if (fault->kind == BW_FAULT_LATE &&
      fault->delay > (double)LONGEST_DELAY * target->control_period) {
    bw_loader_fail_key(loader, "fault.message_delay_ms",
                       "%.15g ms is longer than %d control periods; shorten it", fault->delay * 1e3,
                       LONGEST_DELAY);
  }
}

void bw_case_check_fault(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  const struct bw_fault *fault = &target->fault;
  if (fault->kind == BW_FAULT_NONE) {
    return;
  }
  check_size(loader);
  const double end = target->trace.n > 0 ? bw_trace_duration(&target->trace) : 0.0;
  if (target->trace.n > 0 && !(fault->start < end)) {
    bw_loader_fail_key(loader, "fault.start_s",
                       "%.15g s lies after the end of the run at %.6g s; start the fault earlier",
                       fault->start, end);
  }
  for (int i = 0; i < BW_AXLES; i++) {
    const bool is_named = fault->axle == (i == BW_FRONT ? BW_FAULT_FRONT_AXLE : BW_FAULT_REAR_AXLE);
    if (is_named && bw_fault_needs_machine(fault->kind) && !target->machine[i].is_fitted) {
      bw_loader_fail_key(loader, "fault.axle",
                         "no machine is fitted to the %s axle that could fail; name the other one",
                         i == BW_FRONT ? "front" : "rear");
    }
  }
}
