/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/tyre.h"

#include <math.h>

/* points at which a curve is searched for its peak before the halving, and halvings */
enum { SEARCH_POINTS = 400, SEARCH_HALVINGS = 60 };

/* Burckhardt coefficients. Dry and wet asphalt as in public code files that name Burckhardt (read
 * at second hand); the others from memory of the table in Kiencke and Nielsen. Ice: the book
 * prints c3 = 0. */
static const double SURFACES[BW_TYRE_CUSTOM][3] = {
    [BW_TYRE_ASPHALT_DRY] = {1.2801, 23.99, 0.52},
    [BW_TYRE_ASPHALT_WET] = {0.857, 33.822, 0.347},
    [BW_TYRE_CONCRETE_DRY] = {1.1973, 25.168, 0.5373},
    [BW_TYRE_COBBLES_DRY] = {1.3713, 6.4565, 0.6691},
    [BW_TYRE_COBBLES_WET] = {0.4004, 33.708, 0.1204},
    [BW_TYRE_SNOW] = {0.1946, 94.129, 0.0646},
    [BW_TYRE_ICE] = {0.05, 306.39, 0.001},
};

static const char *const WORDS[] = {"asphalt-dry", "asphalt-wet", "concrete-dry", "cobbles-dry",
                                    "cobbles-wet", "snow",        "ice",          "custom"};

const char *bw_tyre_surface_text(enum bw_tyre_surface surface) {
  BW_ASSERT((unsigned)surface <= (unsigned)BW_TYRE_CUSTOM);
  return WORDS[surface];
}

static double burckhardt(const double c[3], double s, double *slope) {
  const double fading = exp(-c[1] * s);
  *slope = c[0] * c[1] * fading - c[2];
  return c[0] * (1.0 - fading) - c[2] * s;
}

static double magic(const double m[4], double s, double *slope) {
  const double x = m[0] * s;
  const double inner = x - m[3] * (x - atan(x));
  const double angle = m[1] * atan(inner);
  const double inner_slope = m[0] * (1.0 - m[3] * (1.0 - 1.0 / (1.0 + x * x)));
  *slope = m[2] * cos(angle) * m[1] / (1.0 + inner * inner) * inner_slope;
  return m[2] * sin(angle);
}

/* curve on 0..1 */
static double curve(const struct bw_tyre *tyre, double s, double *slope) {
  return tyre->model == BW_TYRE_BURCKHARDT ? burckhardt(tyre->c, s, slope)
                                           : magic(tyre->magic, s, slope);
}

double bw_tyre_friction(const struct bw_tyre *tyre, double factor, double slip, double *slope) {
  const double size = fabs(slip) / factor;
  double rise = 0.0;
  const double mu = factor * curve(tyre, size < 1.0 ? size : 1.0, &rise);
  *slope = size < 1.0 ? rise : 0.0;
  return slip < 0.0 ? -mu : mu;
}

/* the first place where the slope turns negative, by halving; 1 if it never does */
static double find_peak(const struct bw_tyre *tyre) {
  double low = 0.0;
  double high = 0.0;
  double slope = 1.0;
  for (int i = 1; i <= SEARCH_POINTS && slope > 0.0; i++) {
    low = high;
    high = (double)i / SEARCH_POINTS;
    (void)curve(tyre, high, &slope);
  }
  if (slope > 0.0) {
    return 1.0;
  }
  for (int i = 0; i < SEARCH_HALVINGS; i++) {
    const double middle = 0.5 * (low + high);
    (void)curve(tyre, middle, &slope);
    low = slope > 0.0 ? middle : low;
    high = slope > 0.0 ? high : middle;
  }
  return 0.5 * (low + high);
}

/* s* = ln(c1 c2/c3)/c2; a curve with c3 = 0, or too small a c3, rises up to full slip */
static double burckhardt_peak(const double c[3]) {
  if (!(c[2] > 0.0)) {
    return 1.0;
  }
  return fmin(1.0, log(c[0] * c[1] / c[2]) / c[1]);
}

enum bw_status bw_tyre_prepare(struct bw_tyre *tyre, struct bw_diag *diag) {
  struct bw_tyre made = *tyre;
  if (made.model == BW_TYRE_BURCKHARDT && made.surface != BW_TYRE_CUSTOM) {
    for (int i = 0; i < 3; i++) {
      made.c[i] = SURFACES[made.surface][i];
    }
  }
  double slope = 0.0;
  (void)curve(&made, 0.0, &made.stiffness);
  if (!(made.stiffness > 0.0 && isfinite(made.stiffness))) {
    return bw_fail(
        diag, BW_E_RANGE,
        "the tyre curve starts with slope %g; give coefficients that rise from zero slip",
        made.stiffness);
  }
  made.peak_slip = made.model == BW_TYRE_BURCKHARDT ? burckhardt_peak(made.c) : find_peak(&made);
  made.peak = curve(&made, made.peak_slip, &slope);
  const double locked = curve(&made, 1.0, &slope);
  if (!(made.peak > 0.0 && locked >= 0.0 && isfinite(made.peak))) {
    return bw_fail(diag, BW_E_RANGE,
                   "the tyre curve gives friction %g at full slip; give coefficients that keep it "
                   "at 0 or more",
                   locked);
  }
  *tyre = made;
  return BW_OK;
}
