/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CYCLE_ENERGY_H
#define BW_CYCLE_ENERGY_H

#include "input/case.h"

/** Cycle energy demand by the WLTP-type procedure, from the target trace's own points:
 *
 *    F_i = f0 + f1 (v_i + v_i-1)/2 + f2 (v_i + v_i-1)^2/4 + 1.03 TM a_i
 *    E = sum of F_i d_i over F_i > 0,   d_i = (v_i + v_i-1)/2 (t_i - t_i-1)
 *
 *  Level road, no braking recovered. Source: EU 2017/1151 Annex XXI Sub-Annex 7 point 5 (variables
 *  read, equations from memory: they are pictures in the copy read); 1.03: Sub-Annex 2 3.1, read.
 */
struct bw_cycle_energy {
  double demand;   /**< J */
  double braking;  /**< J, -sum of F_i d_i over F_i < 0, dropped by the procedure: the most that
                        regeneration could find at the wheels */
  double distance; /**< m */
};

/** For the load state and speed trace of `loaded`; all NaN when its trace is a manoeuvre. */
struct bw_cycle_energy bw_cycle_energy(const struct bw_case *loaded);

#endif
