/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_DRIVE_H
#define BW_FAULT_DRIVE_H

#include "sim/run.h"

/** A case driven once for a fault study: what it did, one row per control period. */

enum { BW_FAULT_WINDOWS_MAX = 16 };

/** Time in which a fault may start and is judged. */
struct bw_fault_window {
  double start; /**< s */
  double end;   /**< s */
  double power; /**< W, greatest braking power demanded */
};

struct bw_fault_row {
  double time;      /**< s, end of the period */
  double speed;     /**< m/s, end */
  double distance;  /**< m, end */
  double mean;      /**< m/s2, deceleration */
  double shortfall; /**< m/s2 by which the torques miss the demand */
  double slip;      /**< 1, greatest of both axles; 0 below 1 m/s */
  double margin;    /**< 1, of axle balance; NaN where not judged */
  double lock;      /**< s without grip: rolling, an axle asks for more than the road gives; slip, a
                         wheel is locked */
  bool is_rear_first; /**< the rear axle uses more grip than the front, z of 0.15 to 0.8 */
};

/** Start from the wanted fields, the rest zeroed. Free with bw_fault_drive_free(). */
struct bw_fault_drive {
  double from;   /**< s, wanted: rows of periods that begin earlier are dropped */
  double until;  /**< s, wanted: the drive ends with the period that reaches it; infinite: never */
  size_t wanted; /**< above 0: keep no rows, look for so many windows */
  double speed;  /**< m/s at the start of the first row */
  size_t window_count;
  struct bw_fault_window window[BW_FAULT_WINDOWS_MAX]; /**< (window_count) in order of time */
  size_t n;
  size_t room;
  struct bw_fault_row *row; /**< (n) owned */
};

/** Drive `loaded`; rows and windows of an earlier drive are replaced. `guard` (NULL: none) watches
 *  too. Statuses as bw_run().
 *
 *  Windows are the decelerations: a demand above assess.event_on opens one, below assess.event_off
 *  for longer than assess.event_gap it ended where that began, and rest ends it. The `wanted` ones
 *  with the greatest braking power demanded are kept. */
BW_MUST_CHECK enum bw_status bw_fault_drive_run(const struct bw_case *loaded,
                                                const struct bw_blend_strategy *strategy,
                                                const struct bw_observer *guard,
                                                struct bw_fault_drive *drive, struct bw_diag *diag);

void bw_fault_drive_free(struct bw_fault_drive *drive);

#endif
