/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_EFFECT_H
#define BW_FAULT_EFFECT_H

#include "sim/run.h"

/** What one fault does to one braking manoeuvre, and when it does most. Severity figures are meant
 *  for a hazard analysis; no rating is derived from them. */

/** A manoeuvre driven once, one row per control period. Free with bw_fault_drive_free(). */
struct bw_fault_drive {
  size_t n;
  size_t room;
  struct bw_fault_row {
    double time;      /**< s, end of the period */
    double speed;     /**< m/s, end */
    double distance;  /**< m, end */
    double mean;      /**< m/s2, deceleration */
    double shortfall; /**< m/s2 by which the torques miss the demand */
    double slip;      /**< 1, greatest */
    double margin;    /**< 1, of axle balance; NaN where not judged */
  } * row;            /**< (n) */
};

struct bw_fault_effect {
  double start;      /**< s */
  double speed;      /**< m/s when the fault begins */
  double lost;       /**< m/s2, greatest loss of deceleration against the sound car */
  double lost_time;  /**< s with a loss above what a driver notices */
  double gained;     /**< m/s2, greatest gain of deceleration */
  double more_way;   /**< m, longer stopping distance; NaN when the car does not stop */
  double way;        /**< m, more_way, or how much further the car was at the manoeuvre's end */
  double speed_left; /**< m/s, speed where the sound car came to rest */
  double slip_peak;  /**< 1, from the fault on */
  double margin;     /**< 1, least axle balance from the fault on; NaN: not judged */
  double until_met;  /**< s until the demand is missed by no more than the sound car misses it at
                          the same speed and a driver notices; NaN: never again */
};

/** Drive a manoeuvre. Statuses as bw_run(). */
BW_MUST_CHECK enum bw_status bw_fault_drive_run(const struct bw_case *loaded,
                                                const struct bw_blend_strategy *strategy,
                                                struct bw_fault_drive *drive, struct bw_diag *diag);

void bw_fault_drive_free(struct bw_fault_drive *drive);

/** Compare a drive with the fault of `loaded` to the sound one. */
void bw_fault_effect_find(const struct bw_case *loaded, const struct bw_fault_drive *sound,
                          const struct bw_fault_drive *hurt, struct bw_fault_effect *effect);

/** What cells and moments are ranked by: further way in m, and where there is none, a thousandth
 *  of the gained deceleration. */
double bw_fault_effect_rank(const struct bw_fault_effect *effect);

/** Find the start at which the fault of `loaded` ranks highest: `moments` starts spread evenly
 *  over the sound drive, then golden sections around the best of them down to two control periods.
 *  loaded->fault.start is left at the worst start. BW_E_USAGE for a cycle, a manoeuvre of less than
 *  three periods, or no moments. */
BW_MUST_CHECK enum bw_status bw_fault_effect_worst(struct bw_case *loaded,
                                                   const struct bw_blend_strategy *strategy,
                                                   size_t moments, struct bw_fault_effect *worst,
                                                   struct bw_diag *diag);

#endif
