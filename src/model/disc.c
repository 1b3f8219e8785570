/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/disc.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

enum { OWN = BW_DISC_TERMS - 1 }; /* terms with a rate of their own */

double bw_disc_capacity(const struct bw_disc *disc) {
  return disc->density * disc->specific_heat * disc->area * disc->depth;
}

struct bw_disc_step bw_disc_step_make(const struct bw_disc *disc, double duration) {
  struct bw_disc_step step = {.duration = duration};
  const double rate = PI * PI * disc->conductivity /
                      (disc->density * disc->specific_heat * disc->depth * disc->depth);
  /* x_n at rest under 1 W: 2 L/(k A n^2 pi^2) */
  const double rest = 2.0 * disc->depth / (disc->conductivity * disc->area * PI * PI);
  /* sums of 1/n^2 and 1/n^4 over the terms that have no state of their own */
  double squares = PI * PI / 6.0;
  double fourths = PI * PI * PI * PI / 90.0;
  for (int n = 1; n <= OWN; n++) {
    const double square = (double)(n * n);
    step.keep[n - 1] = exp(-rate * square * duration);
    step.gain[n - 1] = -rest / square * expm1(-rate * square * duration);
    squares -= 1.0 / square;
    fourths -= 1.0 / (square * square);
  }
  const double rate_of_rest = rate * squares / fourths;
  step.keep[OWN] = exp(-rate_of_rest * duration);
  step.gain[OWN] = -rest * squares * expm1(-rate_of_rest * duration);
  return step;
}

double bw_disc_face_advance(const struct bw_disc_step *step, struct bw_disc_face *face,
                            double power) {
  double excess = 0.0;
  for (int n = 0; n < BW_DISC_TERMS; n++) {
    face->term[n] = face->term[n] * step->keep[n] + power * step->gain[n];
    excess += face->term[n];
  }
  return excess;
}
