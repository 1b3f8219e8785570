/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MAKE_SWAP_H
#define BW_MAKE_SWAP_H

#include "make_case.h"

/** One hand-over of RV-1 at constant demand: the machines' torque falls straight to zero, the
 *  friction brakes take over behind dead time and lag. No road load. */
struct swap {
  double torque; /**< N m, all of the demand */
  double ramp;   /**< s */
  double dead_time;
  double lag;
};

/** Run one hand-over with requests held for `period` (s); gaps are recorded from 1 s on. */
void run_swap(const struct swap *swap, double period, struct test_record *record);

/** Peak deficit (N m) for a control period shrunk to nothing: the staircase of held requests adds
 *  rate x period / 2 and smaller powers, which two rounds of extrapolation take away. *held is the
 *  peak with requests held for 10 ms. */
double swap_peak(const struct swap *swap, double *held);

/** Peak dip (m/s2) of a stop at `rate` (m/s2) with dead time 0.03 s and lag 0.07 s and a hand-over
 *  across the speed band `band` (m/s), requests held for `period`. */
double swap_band_dip(double rate, double band, double period);

/** Share of the kinetic energy that a lossless machine takes in a stop from `speed` (m/s) at
 *  2.3 m/s2 when its part falls straight from 1 at `from` to 0 at `to` (m/s), requests held for
 *  `period`. Fails the test when the two brakes together do not take all of it. */
double swap_fade_share(double speed, double from, double to, double period);

#endif
