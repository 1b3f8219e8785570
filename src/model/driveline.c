/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/driveline.h"

#include <stdbool.h>

double bw_driveline_mean(const struct bw_driveline *line, double from, double to) {
  const double a = bw_driveline_wound(line, from);
  const double b = bw_driveline_wound(line, to);
  const double half = 0.5 * line->lash;
  const bool same_side = fmin(from, to) >= half || fmax(from, to) <= -half;
  if (same_side) {
    return 0.5 * line->stiffness * (a + b);
  }
  const double way = to - from;
  /* here each wound part is no longer than the way: nothing cancels */
  return fabs(way) > 0.0 ? 0.5 * line->stiffness * (b * b - a * a) / way : line->stiffness * a;
}

double bw_driveline_contact(const struct bw_driveline *line, double from, double to) {
  const double half = 0.5 * line->lash;
  const double low = fmin(from, to);
  const double high = fmax(from, to);
  if (!(high - low > 0.0)) {
    return fabs(from) >= half ? 1.0 : 0.0;
  }
  const double gap = fmax(0.0, fmin(high, half) - fmax(low, -half));
  return 1.0 - gap / (high - low);
}
