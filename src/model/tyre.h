/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TYRE_H
#define BW_TYRE_H

#include "status.h"

/** Longitudinal tyre friction over slip, straight running.
 *
 *  Slip s = (v - r w)/max(|v|, |r w|), positive when braking; force F = N mu(s), positive when it
 *  retards the car. mu is odd in s and held beyond |s| = 1.
 *    Burckhardt     mu(s) = c1 (1 - exp(-c2 s)) - c3 s
 *    Magic Formula  mu(s) = D sin(C atan(B s - E (B s - atan(B s)))),  s as a ratio
 *  Another grip than the curve's own is met by similarity: mu = k mu0(s/k), k = wanted peak over
 *  own peak. That keeps the slope at zero slip, which belongs to the tyre and not to the road.
 *
 *  Relaxation: sigma ds/dt = (v - r w) - s V, V = max(|v|, |r w|, low_speed); sigma = 0 gives
 *  s = (v - r w)/V at once. The floor under V keeps the equation finite at standstill. */

enum bw_tyre_model { BW_TYRE_BURCKHARDT, BW_TYRE_MAGIC };

/** Published surfaces, in the order of the parameter's choices. */
enum bw_tyre_surface {
  BW_TYRE_ASPHALT_DRY,
  BW_TYRE_ASPHALT_WET,
  BW_TYRE_CONCRETE_DRY,
  BW_TYRE_COBBLES_DRY,
  BW_TYRE_COBBLES_WET,
  BW_TYRE_SNOW,
  BW_TYRE_ICE,
  BW_TYRE_CUSTOM
};

struct bw_tyre {
  enum bw_tyre_model model;
  enum bw_tyre_surface surface; /**< Burckhardt: where c came from */
  double c[3];                  /**< Burckhardt c1, c2, c3 */
  double magic[4];              /**< B, C, D, E */
  double relaxation;            /**< m, sigma, 0: none */
  double low_speed;             /**< m/s, > 0 */
  double peak;                  /**< greatest mu of the curve, set by bw_tyre_prepare() */
  double peak_slip;             /**< slip of the peak, 1 when mu never falls */
  double stiffness;             /**< slope of mu at zero slip */
};

/** Take the coefficients of `tyre->surface` unless it is custom, check the curve and work out
 *  peak and stiffness. BW_E_RANGE, with *tyre untouched, when the curve is not finite, has no
 *  positive slope at zero or turns negative before full slip. */
BW_MUST_CHECK enum bw_status bw_tyre_prepare(struct bw_tyre *tyre, struct bw_diag *diag);

/** mu at `slip` (any sign) with grip factor `factor` (1: the curve's own), and its derivative by
 *  slip in *slope. */
double bw_tyre_friction(const struct bw_tyre *tyre, double factor, double slip, double *slope);

/** Word of a surface as in the parameter's choices; constant. */
const char *bw_tyre_surface_text(enum bw_tyre_surface surface);

#endif
