/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/sobol_index.h"

#include "alloc.h"

#include <gsl/gsl_rng.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

/* of the resampling; any number would do, one and the same makes runs repeat */
#define RESAMPLING_SEED 20101u
/* a spread below this share of the output's size is rounding, not an effect */
#define SPREAD_MIN  1e-12
#define CONFIDENCE  0.95
#define VALUES_EACH 2.0 /* f_A and f_B */

enum { SUM_COUNT, SUM_F, SUM_FF, SUM_SIZE, SUMS_BEFORE_KEYS };

/* sums of a deck: draws, f - c and its square over A and B, |f|, then per key the products of S_j
 * and the squares of ST_j */
struct bw_sobol {
  size_t keys;
  size_t width; /* sums of a deck */
  double centre;
  size_t draws;
  double *deck;     /* (BW_SOBOL_DECKS x width) */
  double *sum;      /* (width) */
  double *resample; /* (2 keys x BW_SOBOL_RESAMPLES) */
  gsl_rng *random;
};

struct bw_sobol *bw_sobol_create(size_t keys) {
  struct bw_sobol *sobol = bw_alloc(1, sizeof *sobol);
  if (sobol == NULL) {
    return NULL;
  }
  *sobol = (struct bw_sobol){.keys = keys, .width = SUMS_BEFORE_KEYS + 2 * keys};
  sobol->deck = bw_alloc(BW_SOBOL_DECKS * sobol->width, sizeof *sobol->deck);
  sobol->sum = bw_alloc(sobol->width, sizeof *sobol->sum);
  sobol->resample = bw_alloc(2 * keys * BW_SOBOL_RESAMPLES, sizeof *sobol->resample);
  sobol->random = gsl_rng_alloc(gsl_rng_mt19937);
  if (sobol->deck == NULL || sobol->sum == NULL || sobol->resample == NULL ||
      sobol->random == NULL) {
    bw_sobol_destroy(sobol);
    return NULL;
  }
  return sobol;
}

void bw_sobol_destroy(struct bw_sobol *sobol) {
  if (sobol == NULL) {
    return;
  }
  if (sobol->random != NULL) {
    gsl_rng_free(sobol->random);
  }
  bw_free(sobol->deck);
  bw_free(sobol->sum);
  bw_free(sobol->resample);
  bw_free(sobol);
}

void bw_sobol_start(struct bw_sobol *sobol, double centre) {
  sobol->centre = centre;
  sobol->draws = 0;
  memset(sobol->deck, 0, BW_SOBOL_DECKS * sobol->width * sizeof *sobol->deck);
}

void bw_sobol_add(struct bw_sobol *sobol, const double *f) {
  double *sum = &sobol->deck[sobol->draws++ % BW_SOBOL_DECKS * sobol->width];
  const double a = f[0] - sobol->centre;
  const double b = f[1] - sobol->centre;
  sum[SUM_COUNT] += 1.0;
  sum[SUM_F] += a + b;
  sum[SUM_FF] += a * a + b * b;
  sum[SUM_SIZE] += fabs(f[0]) + fabs(f[1]);
  for (size_t j = 0; j < sobol->keys; j++) {
    const double mixed = f[2 + j] - sobol->centre;
    sum[SUMS_BEFORE_KEYS + 2 * j] += b * (mixed - a);
    sum[SUMS_BEFORE_KEYS + 2 * j + 1] += (a - mixed) * (a - mixed);
  }
}

static void add_deck(struct bw_sobol *sobol, size_t index) {
  for (size_t i = 0; i < sobol->width; i++) {
    sobol->sum[i] += sobol->deck[index * sobol->width + i];
  }
}

/* the indices of the sums: first-order ones at 2j, total ones at 2j + 1; false without variance */
static bool estimate(const struct bw_sobol *sobol, double *index, size_t stride) {
  const double *sum = sobol->sum;
  const double n = VALUES_EACH * sum[SUM_COUNT];
  const double mean = sum[SUM_F] / n;
  const double variance = sum[SUM_FF] / n - mean * mean;
  const double noise = SPREAD_MIN * sum[SUM_SIZE] / n;
  if (!(variance > noise * noise)) {
    return false;
  }
  for (size_t j = 0; j < sobol->keys; j++) {
    const double *of_key = &sum[SUMS_BEFORE_KEYS + 2 * j];
    index[2 * j * stride] = of_key[0] / (sum[SUM_COUNT] * variance);
    index[(2 * j + 1) * stride] = of_key[1] / (2.0 * sum[SUM_COUNT] * variance);
  }
  return true;
}

static struct bw_sobol_estimate interval(double value, double *resample, size_t count) {
  gsl_sort(resample, 1, count);
  const double tail = 0.5 * (1.0 - CONFIDENCE);
  return (struct bw_sobol_estimate){
      value, gsl_stats_quantile_from_sorted_data(resample, 1, count, tail),
      gsl_stats_quantile_from_sorted_data(resample, 1, count, 1.0 - tail)};
}

/* indices of resampled decks; the number of resamples that had a variance */
static size_t resample(struct bw_sobol *sobol, size_t decks) {
  size_t made = 0;
  gsl_rng_set(sobol->random, RESAMPLING_SEED);
  for (int i = 0; i < BW_SOBOL_RESAMPLES; i++) {
    memset(sobol->sum, 0, sobol->width * sizeof *sobol->sum);
    for (size_t k = 0; k < decks; k++) {
      add_deck(sobol, gsl_rng_uniform_int(sobol->random, decks));
    }
    made += estimate(sobol, &sobol->resample[made], BW_SOBOL_RESAMPLES) ? 1 : 0;
  }
  return made;
}

bool bw_sobol_indices(struct bw_sobol *sobol, struct bw_sobol_estimate *first,
                      struct bw_sobol_estimate *total) {
  const size_t decks = sobol->draws < BW_SOBOL_DECKS ? sobol->draws : BW_SOBOL_DECKS;
  if (sobol->draws < 2) {
    return false;
  }
  memset(sobol->sum, 0, sobol->width * sizeof *sobol->sum);
  for (size_t i = 0; i < decks; i++) {
    add_deck(sobol, i);
  }
  double *values = sobol->resample; /* the first column of what the resamples fill later */
  if (!estimate(sobol, values, BW_SOBOL_RESAMPLES)) {
    return false;
  }
  for (size_t j = 0; j < sobol->keys; j++) {
    first[j].value = values[2 * j * BW_SOBOL_RESAMPLES];
    total[j].value = values[(2 * j + 1) * BW_SOBOL_RESAMPLES];
  }
  const size_t made = resample(sobol, decks);
  if (made == 0) {
    return false;
  }
  for (size_t j = 0; j < sobol->keys; j++) {
    double *of_key = &sobol->resample[2 * j * BW_SOBOL_RESAMPLES];
    first[j] = interval(first[j].value, of_key, made);
    total[j] = interval(total[j].value, of_key + BW_SOBOL_RESAMPLES, made);
  }
  return true;
}
