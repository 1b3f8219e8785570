/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SIM_WHEEL_SENSE_H
#define BW_SIM_WHEEL_SENSE_H

#include "sim/sensor.h"

/** Speeds as the antilock controller knows them: those of the wheels through their sensors, that of
 *  the car either as it is or as a reference drawn from the wheels:
 *
 *    v_ref = max(second fastest wheel, v_ref before - (a + margin) x time since)
 *
 *  a is the deceleration by an accelerometer, not below 0: what the car feels along its own axis,
 *  without the part that the slope adds (a_dec - g sin(theta)). While one wheel rolls nearly freely
 *  it tells the speed; while all of them slip, the reference falls no faster than the car can. The
 *  margin is for what the accelerometer does not see, grades first of all: 1 m/s2 covers 10 %. The
 *  second fastest of four, because noise makes the fastest too fast.
 *
 *  A first-order filter (antilock.filter) calms the readings for the reference, which is corrected
 * by the a x filter that they come out too fast, and the rate of slip for the lead. The slip itself
 * is that of the readings as they are: a controller that waits for it lets wheels lock. */

struct bw_wheel_sense {
  uint64_t count; /**< decisions so far */
  struct bw_sense_line line[2][2];
  double filtered[2][2]; /**< m/s */
  double reference;      /**< m/s */
};

/** What is, and then what is known; rim speeds of axle and side. */
struct bw_wheel_view {
  double rim[2][2];    /**< m/s; both sides alike where an axle's wheels are followed as one */
  double speed;        /**< m/s, of the car */
  double deceleration; /**< m/s2, by the accelerometer */
  double filter;       /**< s, that the rate of slip needs */
};

/** Turn *view from what is into what the antilock controller knows, once per decision. */
void bw_wheel_sense_read(const struct bw_case *loaded, struct bw_wheel_sense *sense,
                         struct bw_wheel_view *view);

/** True if that changes anything. */
bool bw_wheel_sense_acts(const struct bw_case *loaded);

#endif
