/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SURFACE_H
#define BW_SURFACE_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Grip along the way: from each place on, the greatest friction left and right holds until the
 *  next place. One place with a lower value is a step down, with a higher one a step up, two make
 *  a patch, and unequal sides a split. Straight running only: the yaw moment of a split is not
 *  followed. Empty (n = 0): the tyre curve's own grip everywhere. */

enum { BW_SURFACE_MAX = 128 };

struct bw_surface {
  size_t n;
  double distance[BW_SURFACE_MAX];    /**< m, strictly rising from 0 */
  double adhesion[2][BW_SURFACE_MAX]; /**< left, right */
};

/** Check n places and copy them. BW_E_RANGE (message without place): more than BW_SURFACE_MAX, not
 *  rising from 0, adhesion not positive and finite. On error *out is untouched. */
BW_MUST_CHECK enum bw_status bw_surface_make(const double *distance, const double *left,
                                             const double *right, size_t n, struct bw_surface *out,
                                             struct bw_diag *diag);

/** True if left and right differ anywhere. */
bool bw_surface_is_split(const struct bw_surface *surface);

/** Adhesion at `distance` (m; before the first place the first) on `side`, 0 left and 1 right.
 *  `hint` is the place last found, kept by the caller. The surface must not be empty. */
double bw_surface_at(const struct bw_surface *surface, int side, double distance, size_t *hint);

#endif
