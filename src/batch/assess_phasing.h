/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_PHASING_H
#define BW_ASSESS_PHASING_H

#include "batch/assess.h"

/** Phasing and compensation: how far and how long the deceleration strays from what is demanded
 *  when the limit of regeneration changes while the demand does not.
 *
 *  A stop at BW_PHASING_DEMAND; regeneration runs out by speed on the way to rest, is taken away
 *  at once as if the battery took nothing more (the controller is told), and comes back at once.
 *  Figures: the longest time without a break in which |demanded - delivered| axle torque over
 *  (r m_eff) exceeds assess.felt_line_g, and the greatest such deviation. */

#define BW_PHASING_DEMAND 2.0 /**< m/s2, a firm ordinary stop; chosen here */

extern const struct bw_assess_family BW_ASSESS_PHASING;

#endif
