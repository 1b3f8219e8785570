/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/cycle_energy.h"

#include <math.h>

/* mass with rotating parts over test mass */
static const double ROTATING = 1.03;

struct bw_cycle_energy bw_cycle_energy(const struct bw_case *loaded) {
  const struct bw_trace *trace = &loaded->trace;
  const struct bw_vehicle *car = &loaded->vehicle;
  const double none = (double)NAN;
  if (trace->kind != BW_TRACE_SPEED) {
    return (struct bw_cycle_energy){none, none, none};
  }
  const double mass = ROTATING * car->load[car->load_state].mass;
  struct bw_cycle_energy sum = {0.0, 0.0, 0.0};
  for (size_t i = 1; i < trace->n; i++) {
    const double time = trace->time[i] - trace->time[i - 1];
    const double mean = 0.5 * (trace->value[i] + trace->value[i - 1]);
    const double force =
        bw_vehicle_road_load(car, mean) + mass * (trace->value[i] - trace->value[i - 1]) / time;
    const double work = force * mean * time;
    sum.distance += mean * time;
    if (work > 0.0) {
      sum.demand += work;
    } else {
      sum.braking -= work;
    }
  }
  return sum;
}
