/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/disc_heat.h"

#include <math.h>

static const double ZERO_CELSIUS = 273.15; /* K */

struct bw_disc_heat bw_disc_heat_start(const struct bw_judge *judge) {
  const struct bw_case *loaded = judge->loaded;
  struct bw_disc_heat heat = {.loaded = loaded};
  for (int i = 0; i < 2; i++) {
    heat.peak[i] = -(double)INFINITY;
    if (loaded->disc[i].area > 0.0) {
      heat.step[i] = bw_disc_step_make(&loaded->disc[i], loaded->control_period);
    }
  }
  return heat;
}

/* the pads press: `power` W of friction on axle `i` */
static double press(struct bw_disc_heat *heat, int i, double power, double duration) {
  const struct bw_disc *disc = &heat->loaded->disc[i];
  if (heat->idle[i] > 0.0) {
    const struct bw_disc_step rest = bw_disc_step_make(disc, heat->idle[i]);
    (void)bw_disc_face_advance(&rest, &heat->face[i], 0.0);
    heat->idle[i] = 0.0;
  }
  if (fabs(duration - heat->step[i].duration) > 0.0) {
    heat->step[i] = bw_disc_step_make(disc, duration);
  }
  return bw_disc_face_advance(&heat->step[i], &heat->face[i],
                              heat->loaded->brakes.axle[i].heat_share * power);
}

/* the pads of axle `i` press or rest */
static void watch_axle(struct bw_disc_heat *heat, const struct bw_sample *sample, int i) {
  const struct bw_sample_axle *axle = &sample->axle[i];
  double excess = 0.0;
  if (axle->friction_work > 0.0 && heat->loaded->disc[i].area > 0.0) {
    excess = press(heat, i, axle->friction_work / sample->duration, sample->duration);
  } else {
    heat->idle[i] += sample->duration;
  }
  heat->peak[i] = bw_max(heat->peak[i], axle->rotor_temperature + excess);
}

void bw_disc_heat_press(struct bw_disc_heat *heat, const struct bw_sample *sample) {
  watch_axle(heat, sample, BW_FRONT);
  watch_axle(heat, sample, BW_REAR);
}

void bw_disc_heat_finish(const struct bw_disc_heat *heat, struct bw_summary *summary) {
  static const enum bw_summary_column column[2] = {BW_SUMMARY_FACE_FRONT_PEAK,
                                                   BW_SUMMARY_FACE_REAR_PEAK};
  for (int i = 0; i < 2; i++) {
    const bool is_judged = heat->loaded->disc[i].area > 0.0 && isfinite(heat->peak[i]);
    summary->value[column[i]] = is_judged ? heat->peak[i] - ZERO_CELSIUS : (double)NAN;
  }
}
