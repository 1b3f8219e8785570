/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/surface.h"

#include <math.h>
#include <string.h>

enum bw_status bw_surface_make(const double *distance, const double *left, const double *right,
                               size_t n, struct bw_surface *out, struct bw_diag *diag) {
  if (n == 0 || n > BW_SURFACE_MAX) {
    return bw_fail(diag, BW_E_RANGE, "%zu places of grip; give 1 to %d", n, BW_SURFACE_MAX);
  }
  if (fabs(distance[0]) > 0.0) {
    return bw_fail(diag, BW_E_RANGE, "the first place of grip lies at %g m; start at 0 m",
                   distance[0]);
  }
  for (size_t i = 0; i < n; i++) {
    const bool rises = i == 0 || distance[i] > distance[i - 1];
    if (!rises || !isfinite(distance[i]) || !(left[i] > 0.0 && isfinite(left[i])) ||
        !(right[i] > 0.0 && isfinite(right[i]))) {
      return bw_fail(diag, BW_E_RANGE,
                     "place %zu of grip (%g m, %g left, %g right) must lie behind the one before "
                     "and have grip above 0",
                     i + 1, distance[i], left[i], right[i]);
    }
  }
  memset(out, 0, sizeof *out);
  out->n = n;
  memcpy(out->distance, distance, n * sizeof *distance);
  memcpy(out->adhesion[0], left, n * sizeof *left);
  memcpy(out->adhesion[1], right, n * sizeof *right);
  return BW_OK;
}

bool bw_surface_is_split(const struct bw_surface *surface) {
  for (size_t i = 0; i < surface->n; i++) {
    if (fabs(surface->adhesion[0][i] - surface->adhesion[1][i]) > 0.0) {
      return true;
    }
  }
  return false;
}

double bw_surface_at(const struct bw_surface *surface, int side, double distance, size_t *hint) {
  size_t at = *hint < surface->n ? *hint : 0;
  while (at > 0 && distance < surface->distance[at]) {
    at--;
  }
  while (at + 1 < surface->n && distance >= surface->distance[at + 1]) {
    at++;
  }
  *hint = at;
  return surface->adhesion[side][at];
}
