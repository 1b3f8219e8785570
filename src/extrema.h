/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_EXTREMA_H
#define BW_EXTREMA_H

#include "attributes.h"

/** Smaller and larger of two numbers as one machine instruction each. The library's fmin() and
 *  fmax() must treat a NaN on either side alike, which costs a call; here `b` comes back when
 *  either is NaN. */

BW_HOT_INLINE double bw_min(double a, double b) {
  return a < b ? a : b;
}

BW_HOT_INLINE double bw_max(double a, double b) {
  return a > b ? a : b;
}

#endif
