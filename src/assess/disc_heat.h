/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DISC_HEAT_H
#define BW_DISC_HEAT_H

#include "assess/period.h"
#include "assess/summary.h"
#include "model/disc.h"

/** Greatest temperature of the rubbed faces (model/disc.h) of each axle: the rotor's node plus the
 *  excess of the face, at the end of each control period with friction. Between applications the
 *  face only cools, so that time is caught up when the pads press again. Costs nothing without
 *  friction. */
struct bw_disc_heat {
  const struct bw_case *loaded;
  struct bw_disc_step step[2];
  struct bw_disc_face face[2];
  double idle[2]; /**< s without friction since the face was last advanced */
  double peak[2]; /**< K, -infinity before the first sample */
};

struct bw_disc_heat bw_disc_heat_start(const struct bw_judge *judge);

/** Take in a period in which pads press. */
void bw_disc_heat_press(struct bw_disc_heat *heat, const struct bw_sample *sample);

static inline void bw_disc_heat_watch(struct bw_disc_heat *heat, const struct bw_sample *sample) {
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  if (front->friction_work > 0.0 || rear->friction_work > 0.0) {
    bw_disc_heat_press(heat, sample);
    return;
  }
  heat->idle[BW_FRONT] += sample->duration;
  heat->idle[BW_REAR] += sample->duration;
  heat->peak[BW_FRONT] = bw_max(heat->peak[BW_FRONT], front->rotor_temperature);
  heat->peak[BW_REAR] = bw_max(heat->peak[BW_REAR], rear->rotor_temperature);
}

void bw_disc_heat_finish(const struct bw_disc_heat *heat, struct bw_summary *summary);

#endif
