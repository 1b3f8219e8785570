/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/trace_band.h"

#include "alloc.h"

#include <math.h>
#include <string.h>

enum {
  HALF_WINDOW = 10, /* steps of BW_TRACE_BAND_STEP in 1.0 s, either side */
  SPAN = 16         /* greatest power of two that fits into the window */
};

/* s and steps; it never matters, because times are multiples of a step of their own */
static const double ROUNDING = 1e-9;

/* s; when point `i` of the band is to be looked at */
static double point_due(const struct bw_trace_band *band, size_t i) {
  return i < band->n ? (double)i * BW_TRACE_BAND_STEP - ROUNDING : (double)INFINITY;
}

/* Running minimum and maximum over the window. Of the speeds held at both ends by half a window
 * (n + 2 HALF_WINDOW of them) `low` and `high` begin as copies; the stretch that an entry speaks
 * for is doubled to SPAN, and two of those that overlap are the window. */
static void fill_band(size_t n, double *restrict low, double *restrict high) {
  const size_t held = n + (size_t)2 * HALF_WINDOW;
  for (size_t step = 1; step < SPAN; step *= 2) {
    for (size_t i = 0; i + step < held; i++) {
      low[i] = bw_min(low[i], low[i + step]);
      high[i] = bw_max(high[i], high[i + step]);
    }
  }
  const size_t rest = 2 * HALF_WINDOW + 1 - SPAN;
  for (size_t i = 0; i < n; i++) {
    low[i] = bw_min(low[i], low[i + rest]) - BW_TRACE_BAND_SPEED;
    high[i] = bw_max(high[i], high[i + rest]) + BW_TRACE_BAND_SPEED;
  }
}

enum bw_status bw_trace_band_start(const struct bw_trace *trace, struct bw_trace_band *band,
                                   struct bw_diag *diag) {
  *band = (struct bw_trace_band){0};
  if (trace->kind != BW_TRACE_SPEED) {
    return BW_OK;
  }
  const size_t n = (size_t)floor(bw_trace_duration(trace) / BW_TRACE_BAND_STEP + ROUNDING) + 1;
  const size_t held = n + (size_t)2 * HALF_WINDOW;
  band->low = bw_alloc(held, sizeof *band->low);
  band->high = bw_alloc(held, sizeof *band->high);
  if (band->low == NULL || band->high == NULL) {
    bw_trace_band_free(band);
    return bw_fail(diag, BW_E_MEMORY, "no memory for the trace's tolerance band");
  }
  band->n = n;
  band->next = point_due(band, 0);
  struct bw_trace_cursor cursor = {0};
  double unused = 0.0;
  for (size_t i = 0; i < n; i++) {
    double speed = 0.0;
    bw_trace_at(trace, &cursor, (double)i * BW_TRACE_BAND_STEP, &speed, &unused);
    band->low[i + HALF_WINDOW] = speed;
  }
  for (size_t i = 0; i < HALF_WINDOW; i++) {
    band->low[i] = band->low[HALF_WINDOW];
    band->low[n + HALF_WINDOW + i] = band->low[n + HALF_WINDOW - 1];
  }
  memcpy(band->high, band->low, held * sizeof *band->high);
  fill_band(n, band->low, band->high);
  return BW_OK;
}

/* judge the speed at the point of the band that is due */
static void look(struct bw_trace_band *band, const struct bw_sample *sample) {
  if (band->n == 0) {
    return;
  }
  const size_t here = (size_t)(sample->time / BW_TRACE_BAND_STEP + ROUNDING);
  const size_t i = here < band->n ? here : band->n - 1;
  band->is_outside = !(sample->speed_start >= band->low[i] && sample->speed_start <= band->high[i]);
  band->next = point_due(band, i + 1);
  if (!band->is_outside) {
    band->current = 0.0;
  }
}

void bw_trace_band_watch(struct bw_trace_band *band, const struct bw_sample *sample) {
  if (sample->time >= band->next) {
    look(band, sample);
  }
  if (!band->is_outside) {
    return;
  }
  band->excursions += band->current > 0.0 ? 0 : 1;
  band->current += sample->duration;
  band->outside += sample->duration;
  band->longest = bw_max(band->longest, band->current);
}

void bw_trace_band_finish(const struct bw_trace_band *band, struct bw_summary *summary) {
  const bool has_band = band->n > 0;
  summary->value[BW_SUMMARY_TRACE_OUTSIDE] = has_band ? band->outside : (double)NAN;
  summary->value[BW_SUMMARY_TRACE_EXCURSIONS] = has_band ? (double)band->excursions : (double)NAN;
  summary->value[BW_SUMMARY_TRACE_LONGEST] = has_band ? band->longest : (double)NAN;
}

void bw_trace_band_free(struct bw_trace_band *band) {
  bw_free(band->low);
  bw_free(band->high);
  *band = (struct bw_trace_band){0};
}
