/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SIM_SENSOR_H
#define BW_SIM_SENSOR_H

#include "sim/sample.h"

/** What the controller reads instead of what is: sensors in front of the strategy. The plant itself
 *  stays true.
 *
 *  Signals are known once per control period. A delay that is no whole number of periods reads the
 *  straight line between two of them; before the start of the run stands its first value. Noise is
 *  one draw per signal and period, added to the late value, and the sum is rounded to the
 *  resolution. Speeds are sizes: a reading below zero is read as zero. */

enum { BW_SENSE_PERIODS = 256 }; /**< longest delay in periods, plus two */

enum bw_sense_signal {
  BW_SENSE_SPEED,
  BW_SENSE_WHEEL,        /**< and the next: rim speed of an axle's wheels */
  BW_SENSE_PRESSURE = 3, /**< and the next */
  BW_SENSE_TORQUE = 5,   /**< and the next */
  BW_SENSE_COUNT = 7
};

/** Past values of one signal. */
struct bw_sense_line {
  double past[BW_SENSE_PERIODS];
};

struct bw_sense {
  uint64_t count; /**< periods so far */
  struct bw_sense_line line[BW_SENSE_COUNT];
};

/** Put `value` in place `count` (0, 1, ...) of `line` and give the one from `periods` ago, not more
 *  than BW_SENSE_PERIODS - 2. */
double bw_sense_late(struct bw_sense_line *line, uint64_t count, double value, double periods);

/** Change speed, slip and estimates in `input`, which are `truth`, to what sensors tell. Does
 *  nothing if the case has no sensors. Called once per control period. */
void bw_sense_read(const struct bw_case *loaded, const struct bw_sample_truth *truth,
                   struct bw_sense *sense, struct bw_blend_input *input);

#endif
