/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/body.h"

#include <math.h>

struct bw_body bw_body_start(const struct bw_judge *judge) {
  const struct bw_case *loaded = judge->loaded;
  return (struct bw_body){
      .is_judged = loaded->fidelity == BW_FIDELITY_SLIP,
      .filter = bw_jerk_filter_make(loaded->assess.jerk_cutoff, loaded->step),
  };
}

static void watch_jerk(struct bw_body *body, const struct bw_sample *sample) {
  if (!(bw_min(sample->speed_start, sample->speed_end) > BW_FEEL_SPEED)) {
    body->is_filtering = false;
    return;
  }
  for (size_t k = 0; k < sample->substeps; k++) {
    if (!body->is_filtering) {
      bw_jerk_filter_settle(&body->filter, sample->body_deceleration[k]);
      body->is_filtering = true;
    }
    bw_jerk_filter_step(&body->filter, sample->body_deceleration[k]);
    body->jerk_peak = bw_max(body->jerk_peak, fabs(body->filter.slope));
  }
}

void bw_body_watch(struct bw_body *body, const struct bw_sample *sample) {
  if (!body->is_judged) {
    return;
  }
  watch_jerk(body, sample);
  body->locked += sample->locked_time;
  body->antilock += sample->antilock_time;
  body->roll_back += bw_max(0.0, -sample->distance);
  for (int i = 0; i < 2; i++) {
    body->slip_peak = bw_max(body->slip_peak, sample->axle[i].slip_peak);
    body->shaft_torque = bw_max(body->shaft_torque, sample->axle[i].shaft_torque);
  }
}

void bw_body_finish(const struct bw_body *body, struct bw_summary *summary) {
  const double none = (double)NAN;
  double *value = summary->value;
  value[BW_SUMMARY_BODY_JERK_PEAK] = body->is_judged ? body->jerk_peak : none;
  value[BW_SUMMARY_SLIP_PEAK] = body->is_judged ? body->slip_peak : none;
  value[BW_SUMMARY_WHEEL_LOCKED] = body->is_judged ? body->locked : none;
  value[BW_SUMMARY_ANTILOCK_TIME] = body->is_judged ? body->antilock : none;
  value[BW_SUMMARY_SHAFT_TORQUE_PEAK] = body->is_judged ? body->shaft_torque : none;
  value[BW_SUMMARY_ROLL_BACK] = body->is_judged ? body->roll_back : none;
}
