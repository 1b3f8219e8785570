/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/trace_band.h"

#include "alloc.h"

#include <math.h>

enum { HALF_WINDOW = 10 }; /* steps of BW_TRACE_BAND_STEP in 1.0 s, either side */

/* running minimum and maximum over the window; 21 comparisons a point, ten points a second */
static void fill_band(const double *speed, struct bw_trace_band *band) {
  for (size_t i = 0; i < band->n; i++) {
    const size_t from = i > HALF_WINDOW ? i - HALF_WINDOW : 0;
    const size_t to = i + HALF_WINDOW < band->n ? i + HALF_WINDOW : band->n - 1;
    double low = speed[from];
    double high = speed[from];
    for (size_t j = from + 1; j <= to; j++) {
      low = bw_min(low, speed[j]);
      high = bw_max(high, speed[j]);
    }
    band->low[i] = low - BW_TRACE_BAND_SPEED;
    band->high[i] = high + BW_TRACE_BAND_SPEED;
  }
}

enum bw_status bw_trace_band_start(const struct bw_trace *trace, struct bw_trace_band *band,
                                   struct bw_diag *diag) {
  *band = (struct bw_trace_band){0};
  if (trace->kind != BW_TRACE_SPEED) {
    return BW_OK;
  }
  const size_t n = (size_t)floor(bw_trace_duration(trace) / BW_TRACE_BAND_STEP + 1e-9) + 1;
  double *speed = bw_alloc(n, sizeof *speed);
  band->low = bw_alloc(n, sizeof *band->low);
  band->high = bw_alloc(n, sizeof *band->high);
  if (speed == NULL || band->low == NULL || band->high == NULL) {
    bw_free(speed);
    bw_trace_band_free(band);
    return bw_fail(diag, BW_E_MEMORY, "no memory for the trace's tolerance band");
  }
  band->n = n;
  struct bw_trace_cursor cursor = {0};
  double unused = 0.0;
  for (size_t i = 0; i < n; i++) {
    bw_trace_at(trace, &cursor, (double)i * BW_TRACE_BAND_STEP, &speed[i], &unused);
  }
  fill_band(speed, band);
  bw_free(speed);
  return BW_OK;
}

void bw_trace_band_watch(struct bw_trace_band *band, const struct bw_sample *sample) {
  /* half a step of rounding never matters: both times are multiples of their own step */
  if (band->next < band->n && sample->time >= (double)band->next * BW_TRACE_BAND_STEP - 1e-9) {
    const size_t here = (size_t)(sample->time / BW_TRACE_BAND_STEP + 1e-9);
    const size_t i = here < band->n ? here : band->n - 1;
    band->is_outside =
        !(sample->speed_start >= band->low[i] && sample->speed_start <= band->high[i]);
    band->next = i + 1;
  }
  if (!band->is_outside) {
    band->current = 0.0;
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
