/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DECAY_H
#define BW_DECAY_H

#include <math.h>

/** First-order decay over one step, without an exponential on the ordinary path. */

/** 1; up to here the series is as good as the exponential. */
#define BW_DECAY_SERIES_END 0.02

/** Mean of exp(-t / tau) over 0 .. h for 0 <= x = h / tau < BW_DECAY_SERIES_END by the power series
 *  sinh(x)/x - (cosh(x) - 1)/x, whose first term left out is x^7 / 8! < 4e-17. */
static inline double bw_decay_series(double x) {
  const double square = x * x;
  const double even = 1.0 + square * (1.0 / 6.0 + square * (1.0 / 120.0 + square * (1.0 / 5040.0)));
  const double odd = 0.5 + square * (1.0 / 24.0 + square * (1.0 / 720.0));
  return even - x * odd;
}

/** Mean of exp(-t / tau) over 0 .. h with x = h / tau >= 0, that is (1 - exp(-x)) / x; 1 at x = 0.
 *  What is left at the end of the step is exp(-x) = 1 - x bw_decay_mean(x).
 *  Below BW_DECAY_SERIES_END bw_decay_series(). */
static inline double bw_decay_mean(double x) {
  return x < BW_DECAY_SERIES_END ? bw_decay_series(x) : -expm1(-x) / x;
}

#endif
