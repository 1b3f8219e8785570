/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_COMMAND_H
#define BW_COMMAND_H

#include "sim/plant.h"

/** From what the controller ordered to what the actuators are told: limits, plumbing, clipping.
 *
 *  Machines: each within its own limit, both together within the charge power; driving torque
 *  counts negative. Friction: pressure = threshold + torque / nominal torque per pressure;
 *  `common` and `pedal-coupled` give both axles the same pressure above the threshold, and a
 *  coupled pedal leaves at least D_pedal / (1 + rho). Each request the plant could not take as it
 *  came sets a BW_CLIP_* bit. The commands enter the delay lines. */
void bw_command_issue(struct bw_plant *plant, const struct bw_limits *limits,
                      const struct bw_order *order, struct bw_sample *sample);

#endif
