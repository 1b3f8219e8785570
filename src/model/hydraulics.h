/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_HYDRAULICS_H
#define BW_HYDRAULICS_H

/** Hydraulics of one axle's brakes beyond dead time, lag and rates.
 *
 *    volume of the calipers  V(p) = V_soft (1 - exp(-p/p_soft)) + c p   (clearance, then stiffness)
 *    flow limit              |dV/dt| <= flow
 *    hysteresis (play)       pads feel a pressure that follows p inside a band of full width h
 *    line                    wave speed sqrt(bulk modulus / density), delay = length / wave speed
 *
 *  Order of size: 0.5 to 1 cm3 of clearance, 3 to 4 cm3 in all at 100 bar (from memory). */
struct bw_hydraulics {
  double flow;          /**< m3/s into or out of the axle's calipers, 0: not limited */
  double soft_volume;   /**< m3, >= 0 */
  double soft_pressure; /**< Pa, > 0 */
  double elasticity;    /**< m3/Pa, c, > 0 where the flow is limited */
  double hysteresis;    /**< Pa, h, 0: none */
  double line_length;   /**< m */
};

/** Volume (m3) at pressure `pressure` (Pa, >= 0). */
double bw_hydraulics_volume(const struct bw_hydraulics *hydraulics, double pressure);

/** Pressure (Pa, >= 0) at which the calipers hold `volume` (m3); the inverse of the above. */
double bw_hydraulics_pressure(const struct bw_hydraulics *hydraulics, double volume);

/** Pressure (Pa) after `step` s on the way from `from` to `wanted` (Pa), as far as the flow goes.
 */
double bw_hydraulics_follow(const struct bw_hydraulics *hydraulics, double from, double wanted,
                            double step);

/** Pressure that the pads feel (Pa), from the one they felt and the line's `pressure`. */
double bw_hydraulics_felt(const struct bw_hydraulics *hydraulics, double felt, double pressure);

/** Delay (s) of a line at `bulk_modulus` (Pa) and `density` (kg/m3) of the fluid. */
double bw_hydraulics_line_delay(const struct bw_hydraulics *hydraulics, double bulk_modulus,
                                double density);

#endif
