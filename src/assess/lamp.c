/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/lamp.h"

#include "extrema.h"

#include <math.h>

struct bw_lamp bw_lamp_make(double threshold, double filter) {
  return (struct bw_lamp){.threshold = threshold, .filter = filter};
}

/* First-order low-pass by the second-order fit of 1 - exp(-x): a positive, stable gain for every
 * x, exact to x^3/12, and no exponential in the loop. */
static double low_pass_gain(double duration, double filter) {
  if (!(filter > 0.0)) {
    return 1.0;
  }
  const double x = duration / filter;
  return x * (1.0 + 0.5 * x) / (1.0 + x + 0.5 * x * x);
}

/* the lamp is not as it must be, or was not in the step before */
static void count_wrong(struct bw_lamp *lamp, bool must_be_lit, bool must_be_dark,
                        double duration) {
  lamp->is_wrong = must_be_lit || must_be_dark;
  lamp->must_on += must_be_lit ? duration : 0.0;
  lamp->must_off += must_be_dark ? duration : 0.0;
  lamp->must_on_spell = must_be_lit ? lamp->must_on_spell + duration : 0.0;
  lamp->must_off_spell = must_be_dark ? lamp->must_off_spell + duration : 0.0;
  lamp->must_on_longest = bw_max(lamp->must_on_longest, lamp->must_on_spell);
  lamp->must_off_longest = bw_max(lamp->must_off_longest, lamp->must_off_spell);
}

bool bw_lamp_step(struct bw_lamp *lamp, double deceleration, bool is_pedal_pressed,
                  double duration) {
  if (lamp->is_started) {
    if (fabs(duration - lamp->gain_duration) > 0.0) {
      lamp->gain_duration = duration;
      lamp->gain = low_pass_gain(duration, lamp->filter);
    }
    lamp->deceleration += lamp->gain * (deceleration - lamp->deceleration);
  } else {
    lamp->deceleration = deceleration;
    lamp->is_started = true;
  }
  const double line = lamp->is_lit ? BW_LAMP_OFF : lamp->threshold;
  lamp->is_lit = is_pedal_pressed || lamp->deceleration > line;
  const bool must_be_lit = !lamp->is_lit && deceleration > BW_LAMP_MUST_ON;
  const bool must_be_dark = lamp->is_lit && !is_pedal_pressed && deceleration <= BW_LAMP_OFF;
  if (must_be_lit || must_be_dark || lamp->is_wrong) {
    count_wrong(lamp, must_be_lit, must_be_dark, duration);
  }
  return lamp->is_lit;
}

void bw_lamp_watch(struct bw_lamp *lamp, const struct bw_sample *sample) {
  (void)bw_lamp_step(lamp, sample->deceleration, sample->demand_pedal > 0.0, sample->duration);
}

void bw_lamp_finish(const struct bw_lamp *lamp, struct bw_summary *summary) {
  summary->value[BW_SUMMARY_LAMP_MUST_ON] = lamp->must_on;
  summary->value[BW_SUMMARY_LAMP_MUST_OFF] = lamp->must_off;
}
