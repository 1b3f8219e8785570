/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SELECTION_H
#define BW_SELECTION_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Exact quantiles of any number of values in a fixed amount of memory.
 *
 *  The values are gone through eight times. Each pass fixes the next eight bits of the values
 *  wanted, by counting how many of the values that agree with the bits known so far go on with each
 *  of the 256 possible ones. */

struct bw_values {
  void *context;
  /** Copy up to `room` values, from number `from` on, into `values`; gives how many, 0 at the end,
   *  and keeps a failure for itself. Values that are not finite are passed over. */
  size_t (*read)(void *context, size_t from, double *values, size_t room);
};

enum { BW_QUANTILES_MAX = 8 };

/** Quantiles `share` (count <= BW_QUANTILES_MAX, each 0..1) of the `finite` > 0 finite values there
 *  are: linear between the order statistics around share (n - 1) (definition 7 of Hyndman and Fan
 *  1996, which GSL has too). */
void bw_select_quantiles(const struct bw_values *values, size_t finite, const double *share,
                         size_t count, double *quantile);

#endif
