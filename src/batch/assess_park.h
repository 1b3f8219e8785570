/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_PARK_H
#define BW_ASSESS_PARK_H

#include "batch/assess.h"

/** Parking brake, laden: the force that holds on 20 % and 30 %, up and down, on four surfaces, with
 *  the brake where the case has it and, told only, at the other axles; clamp force per caliper that
 *  this takes, loss of cooling discs included; deceleration with the parking brake alone. Closed
 *  forms of model/park.h, whatever the strategy. */
extern const struct bw_assess_family BW_ASSESS_PARK;

#endif
