/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PAD_HEAT_H
#define BW_PAD_HEAT_H

#include "sim/sample.h"

/** Temperature of the pads, one node per axle, worked out from samples:
 *
 *    C dT/dt = (1 - heat_share) P + G_c (T_rotor - T) - G_a (T - T_air)
 *
 *  P the friction power of the axle, heat_share the part that enters the rotors. What the pads take
 *  from the rotors is not taken from the rotors' own node, which stays as the run had it; so this
 *  node tells what the pads see, it closes no books. Lumped: the face of a pad is hotter. */
struct bw_pad_heat {
  double temperature[2]; /**< K */
  double peak[2];        /**< K */
};

/** Pads at the rotors' start temperatures. */
struct bw_pad_heat bw_pad_heat_start(const struct bw_case *loaded);

/** Temperature (K) of pads at `pad` after `duration` s beside a rotor at `rotor`, in air at
 *  `ambient` (K), with `power` W of friction on the axle; exact for constant power and rotor. A
 *  friction brake without pad_heat_capacity keeps its pads at the rotor's temperature. */
double bw_pad_heat_step(const struct bw_friction *friction, double pad, double rotor, double power,
                        double ambient, double duration);

/** Take both axles through one sample. */
void bw_pad_heat_watch(const struct bw_case *loaded, const struct bw_sample *sample,
                       struct bw_pad_heat *heat);

#endif
