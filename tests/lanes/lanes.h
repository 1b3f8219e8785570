/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TEST_LANES_H
#define BW_TEST_LANES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** The loop over the sub-steps (sim/hot.c), compiled once for one car and for eight cars side by
 *  side on each instruction set of this machine. Every copy drives the same made cars through the
 *  same made commands, so that their bits can be compared and their times put side by side. */

enum { LANES_FIGURES = 24, LANES_MOST = 8, LANES_SUBSTEPS = 10 };

/** What one car did: states at the end and every sum over the run. */
struct lanes_result {
  double figure[LANES_FIGURES];
};

/** Commands of a run. */
enum lanes_drive {
  LANES_WILD, /**< everything binds at times: limits, rates, signs, standstill, dead times */
  LANES_CALM  /**< what a cycle mostly is: driving and gentle braking by the machine */
};

/** One compiled copy. */
struct lanes_copy {
  const char *name;
  size_t lanes;
  bool is_for_all; /**< false: ask lanes_is_supported() */
  /** Drive cars `first` .. `first + lanes - 1` for `periods` control periods of LANES_SUBSTEPS
   *  sub-steps; `out` has a place for each. */
  void (*run)(uint64_t first, size_t periods, enum lanes_drive drive, struct lanes_result *out);
};

/** The copies of this build: [0] is one car as in an ordinary run; NULL behind the last. */
const struct lanes_copy *lanes_copy_at(size_t i);

/** True when this processor can run copy `i`. */
bool lanes_is_supported(size_t i);

#endif
