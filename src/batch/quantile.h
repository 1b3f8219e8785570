/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_QUANTILE_H
#define BW_QUANTILE_H

#include "input/case.h"

/** Value (edge unit) below which the share `u`, 0 < u < 1, of a distribution with a centre lies:
 *
 *    normal      mean + std Phi^-1(u)
 *    bounded     mean + std Phi^-1(Phi(a) + u (Phi(b) - Phi(a))), a and b the standardised ends;
 *                taken from the upper tail when both ends are above the mean, which keeps digits
 *    uniform     min + u (max - min)
 *    triangular  min + sqrt(u (max - min)(mode - min)), mirrored above the mode
 *
 *  Phi and its inverse are GSL's. A bounded distribution needs bw_quantile_mass() above 0. */
double bw_quantile(const struct bw_distribution *distribution, double u);

/** Share of the untruncated normal distribution that lies between the ends of a bounded one; 1 for
 *  every other kind. */
double bw_quantile_mass(const struct bw_distribution *distribution);

#endif
