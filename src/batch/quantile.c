/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/quantile.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* both ends seen from the mean in standard deviations, on the side where the tail is small */
struct ends {
  double a;
  double b;
  bool is_mirrored;
};

static struct ends standardise(const struct bw_distribution *it) {
  const double a = (it->min - it->centre) / it->deviation;
  const double b = (it->max - it->centre) / it->deviation;
  return a > 0.0 ? (struct ends){-b, -a, true} : (struct ends){a, b, false};
}

double bw_quantile_mass(const struct bw_distribution *distribution) {
  if (distribution->kind != BW_DISTRIBUTION_BOUNDED) {
    return 1.0;
  }
  const struct ends ends = standardise(distribution);
  return gsl_cdf_ugaussian_P(ends.b) - gsl_cdf_ugaussian_P(ends.a);
}

static double bounded(const struct bw_distribution *it, double u) {
  const struct ends ends = standardise(it);
  const double low = gsl_cdf_ugaussian_P(ends.a);
  const double share = low + (ends.is_mirrored ? 1.0 - u : u) * bw_quantile_mass(it);
  const double z = gsl_cdf_ugaussian_Pinv(share);
  const double value = it->centre + it->deviation * (ends.is_mirrored ? -z : z);
  /* no quantile lies outside; rounding alone could */
  return fmin(fmax(value, it->min), it->max);
}

static double triangular(const struct bw_distribution *it, double u) {
  const double width = it->max - it->min;
  const double rise = it->centre - it->min;
  if (u * width <= rise) {
    return it->min + sqrt(u * width * rise);
  }
  return it->max - sqrt((1.0 - u) * width * (it->max - it->centre));
}

double bw_quantile(const struct bw_distribution *distribution, double u) {
  switch (distribution->kind) {
  case BW_DISTRIBUTION_NORMAL:
    return distribution->centre + gsl_cdf_gaussian_Pinv(u, distribution->deviation);
  case BW_DISTRIBUTION_BOUNDED:
    return bounded(distribution, u);
  case BW_DISTRIBUTION_UNIFORM:
    return gsl_cdf_flat_Pinv(u, distribution->min, distribution->max);
  case BW_DISTRIBUTION_TRIANGULAR:
    return triangular(distribution, u);
  }
  return (double)NAN;
}
