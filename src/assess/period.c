/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/period.h"

#include <math.h>

struct bw_judge bw_judge_make(const struct bw_case *loaded) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  struct bw_judge judge = {
      .loaded = loaded,
      .mass = vehicle->load[vehicle->load_state].mass,
      .mass_effective = bw_case_effective_mass(loaded),
      .radius = vehicle->tyre_radius,
  };
  for (int i = 0; i < 2; i++) {
    judge.inertia[i] = bw_case_axle_inertia(loaded, i);
  }
  return judge;
}

/* braking work of one axle at the road: of the slip loss only the braking part */
static double delivered_work(const struct bw_sample_axle *axle) {
  const double braked = axle->machine_work + axle->friction_work;
  if (!(braked > 0.0)) {
    return 0.0;
  }
  const double part = axle->drive_work > 0.0 ? braked / (braked + axle->drive_work) : 1.0;
  return braked + part * axle->tyre_loss;
}

void bw_period_read_braking(const struct bw_judge *judge, const struct bw_sample *sample,
                            struct bw_period *period) {
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  period->is_braking = true;
  period->is_felt = bw_min(sample->speed_start, sample->speed_end) > BW_FEEL_SPEED;
  period->demanded = sample->demand / judge->radius * sample->distance;
  period->delivered_axle[BW_FRONT] = delivered_work(front);
  period->delivered_axle[BW_REAR] = delivered_work(rear);
  period->delivered = period->delivered_axle[BW_FRONT] + period->delivered_axle[BW_REAR];
  period->machine = front->machine_work + rear->machine_work;
  period->friction[BW_FRONT] = front->friction_work;
  period->friction[BW_REAR] = rear->friction_work;
  period->battery = sample->battery_work;
}
