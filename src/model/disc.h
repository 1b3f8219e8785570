/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DISC_H
#define BW_DISC_H

/** How much hotter than the disc as a whole its rubbed face is.
 *
 *  The ring that the pads rub is a slab of `depth` L, heated evenly on one face by a flux q (W/m2)
 *  and lossless on the other: half a solid disc, or one cheek of a ventilated one. With
 *  diffusivity a = k/(rho c) the face stands above the slab's mean by (Carslaw and Jaeger,
 *  Conduction of Heat in Solids, heated slab; from memory, derived again for the tests)
 *
 *    sum over n >= 1 of x_n,   dx_n/dt = -s_n x_n + 2 q/(rho c L),   s_n = n^2 pi^2 a/L^2
 *
 *  Sixteen terms are states, exact for a constant flux per step. The rest is one state more with
 *  their sum at rest and their mean delay, so it may be as fast as it likes. The slab's mean is
 *  the rotor's own node (model/friction.h). Within L^2/(4 a), 1.3 s for 9 mm, the face behaves as
 *  that of a half-space.
 *
 *  Valid for a flux spread evenly over the ring, at times longer than one turn of the wheel, with
 *  constant properties: k of grey cast iron falls by about a fifth up to 500 degC (common practice,
 *  no source). Hot bands and spots under the pads are hotter, hat and vanes of a real disc follow
 *  later than the rotor's one node, so the mean of the ring is hotter in a single stop. */
struct bw_disc {
  double area;          /**< m2 rubbed, all faces of the axle; 0: no face to judge */
  double depth;         /**< m, L */
  double density;       /**< kg/m3 */
  double specific_heat; /**< J/(kg K) */
  double conductivity;  /**< W/(m K) */
};

enum { BW_DISC_TERMS = 17 }; /* the last one stands for all others */

/** Coefficients for steps of one length. */
struct bw_disc_step {
  double duration;            /**< s */
  double keep[BW_DISC_TERMS]; /**< exp(-s_n duration) */
  double gain[BW_DISC_TERMS]; /**< K/W, of the power that enters all faces */
};

/** Excess of the face over the slab's mean, K, term by term; all 0 at the start. */
struct bw_disc_face {
  double term[BW_DISC_TERMS];
};

/** Heat that the ring takes per kelvin (J/K). */
double bw_disc_capacity(const struct bw_disc *disc);

/** Coefficients for `duration` s (>= 0). All of `disc` must be above 0. */
struct bw_disc_step bw_disc_step_make(const struct bw_disc *disc, double duration);

/** Advance by one step with `power` W into all faces together; returns the excess (K) after it. */
double bw_disc_face_advance(const struct bw_disc_step *step, struct bw_disc_face *face,
                            double power);

#endif
