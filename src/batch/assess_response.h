/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_RESPONSE_H
#define BW_ASSESS_RESPONSE_H

#include "batch/assess.h"

/** Time from the first movement of the pedal to the prescribed brake force at the slower axle, and
 *  a stop in which the machines fail on the way.
 *
 *  Prescribed at an axle is its part of 6.43 m/s2: its mean torque between 0.8 and 0.1 of the speed
 *  times 6.43 over the mean fully developed deceleration of the stop. */

/** s after the first movement at which the inverters trip. */
#define BW_RESPONSE_TRIP 1.0

extern const struct bw_assess_family BW_ASSESS_RESPONSE;

#endif
