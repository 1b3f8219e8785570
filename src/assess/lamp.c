/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/lamp.h"

#include "extrema.h"

struct bw_lamp bw_lamp_make(double threshold, double filter) {
  return (struct bw_lamp){.threshold = threshold, .filter = filter};
}

double bw_lamp_gain(double duration, double filter) {
  if (!(filter > 0.0)) {
    return 1.0;
  }
  const double x = duration / filter;
  return x * (1.0 + 0.5 * x) / (1.0 + x + 0.5 * x * x);
}

void bw_lamp_count_wrong(struct bw_lamp *lamp, bool must_be_lit, bool must_be_dark,
                         double duration) {
  lamp->is_wrong = must_be_lit || must_be_dark;
  lamp->must_on += must_be_lit ? duration : 0.0;
  lamp->must_off += must_be_dark ? duration : 0.0;
  lamp->must_on_spell = must_be_lit ? lamp->must_on_spell + duration : 0.0;
  lamp->must_off_spell = must_be_dark ? lamp->must_off_spell + duration : 0.0;
  lamp->must_on_longest = bw_max(lamp->must_on_longest, lamp->must_on_spell);
  lamp->must_off_longest = bw_max(lamp->must_off_longest, lamp->must_off_spell);
}

void bw_lamp_finish(const struct bw_lamp *lamp, struct bw_summary *summary) {
  summary->value[BW_SUMMARY_LAMP_MUST_ON] = lamp->must_on;
  summary->value[BW_SUMMARY_LAMP_MUST_OFF] = lamp->must_off;
}
