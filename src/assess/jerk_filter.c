/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/jerk_filter.h"

#include <math.h>

struct bw_jerk_filter bw_jerk_filter_make(double cutoff, double step) {
  const double half = 0.5 * step;
  const double omega = tan(acos(-1.0) * cutoff * step) / half;
  const double spring = omega * omega * half;
  const double damping = sqrt(2.0) * omega * half;
  const double scale = 1.0 / (1.0 + damping + spring * half);
  /* (I - hA/2)^-1 (I + hA/2) and (I - hA/2)^-1 B h/2 of A = [0 1; -w^2 -sqrt(2) w] */
  return (struct bw_jerk_filter){
      .output_from_output = scale * (1.0 + damping - spring * half),
      .output_from_slope = scale * step,
      .output_from_input = scale * spring * half,
      .slope_from_output = scale * -2.0 * spring,
      .slope_from_slope = scale * (1.0 - damping - spring * half),
      .slope_from_input = scale * spring,
  };
}
