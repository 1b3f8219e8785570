/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/draws.h"

#include "alloc.h"
#include "batch/quantile.h"
#include "input/number.h"
#include "input/param.h"

#include <gsl/gsl_qrng.h>
#include <gsl/gsl_rng.h>
#include <math.h>

enum { PARTS_BESIDE_KEYS = 2 };

/* share of a normal distribution; below it the difference of two shares has too few digits left */
#define MASS_MIN 1e-9
/* the least share, of a coordinate that a shift would put onto 0: half a step of the 30-bit Sobol'
 * sequence of GSL */
#define SHARE_LEAST 0x1p-31

struct bw_draws {
  struct bw_draws_setup setup;
  size_t keys;
  struct bw_distribution *distribution; /* (keys) with centres */
  const char **name;                    /* (keys) of the parameter table */
  size_t coordinates;                   /* keys, twice that for sensitivity */
  gsl_qrng *sequence;                   /* one of the two */
  gsl_rng *random;
  double *shift; /* (coordinates) */
  double *point; /* (coordinates) of the last draw */
  size_t drawn;  /* draws taken from the generator */
};

static enum bw_status fail_tolerance(const struct bw_tolerance *tolerance, const char *what,
                                     struct bw_diag *diag) {
  return bw_fail(diag, BW_E_USAGE, "tolerances.%s = %s: %s", tolerance->key, tolerance->text, what);
}

/* the distribution with the case's value where no centre was given */
static enum bw_status centre(const struct bw_case *loaded, const struct bw_tolerance *tolerance,
                             struct bw_distribution *out, struct bw_diag *diag) {
  *out = tolerance->distribution;
  if (out->kind != BW_DISTRIBUTION_UNIFORM && !out->has_centre &&
      !bw_case_number(loaded, tolerance->key, &out->centre)) {
    return fail_tolerance(tolerance, "the case gives the key no value; give the centre here", diag);
  }
  if (out->kind == BW_DISTRIBUTION_TRIANGULAR &&
      (out->centre < out->min || out->centre > out->max)) {
    return fail_tolerance(tolerance, "the case's value lies outside; give MIN:MODE:MAX", diag);
  }
  if (!(bw_quantile_mass(out) > MASS_MIN)) {
    return fail_tolerance(tolerance, "nearly nothing lies between the ends; mend mean or ends",
                          diag);
  }
  return BW_OK;
}

static bool make_room(struct bw_draws *draws) {
  draws->distribution = bw_alloc(draws->keys, sizeof *draws->distribution);
  draws->name = bw_alloc(draws->keys, sizeof(const char *));
  draws->shift = bw_alloc(draws->coordinates, sizeof *draws->shift);
  draws->point = bw_alloc(draws->coordinates, sizeof *draws->point);
  draws->random = gsl_rng_alloc(gsl_rng_mt19937);
  if (draws->setup.sampling == BW_SAMPLING_SOBOL) {
    draws->sequence = gsl_qrng_alloc(gsl_qrng_sobol, (unsigned)draws->coordinates);
  }
  return draws->distribution != NULL && draws->name != NULL && draws->shift != NULL &&
         draws->point != NULL && draws->random != NULL &&
         (draws->sequence != NULL || draws->setup.sampling != BW_SAMPLING_SOBOL);
}

static void rewind_draws(struct bw_draws *draws) {
  gsl_rng_set(draws->random, draws->setup.seed);
  draws->drawn = 0;
  if (draws->sequence == NULL) {
    return;
  }
  gsl_qrng_init(draws->sequence);
  for (size_t i = 0; i < draws->coordinates; i++) {
    draws->shift[i] = draws->setup.seed > 0 ? gsl_rng_uniform(draws->random) : 0.0;
  }
}

static void draw(struct bw_draws *draws) {
  draws->drawn++;
  if (draws->sequence != NULL) {
    (void)gsl_qrng_get(draws->sequence, draws->point);
  }
  for (size_t i = 0; i < draws->coordinates; i++) {
    if (draws->sequence == NULL) {
      draws->point[i] = gsl_rng_uniform_pos(draws->random);
      continue;
    }
    const double shifted = draws->point[i] + draws->shift[i];
    const double share = shifted >= 1.0 ? shifted - 1.0 : shifted;
    draws->point[i] = share > 0.0 ? share : SHARE_LEAST;
  }
}

static size_t parts(const struct bw_draws *draws) {
  return draws->setup.is_sensitivity ? draws->keys + PARTS_BESIDE_KEYS : 1;
}

double bw_draws_value(struct bw_draws *draws, size_t row, size_t index) {
  BW_ASSERT(index < draws->keys && row < bw_draws_rows(draws));
  const size_t wanted = row / parts(draws) + 1;
  const size_t part = row % parts(draws);
  if (wanted < draws->drawn || draws->drawn == 0) {
    rewind_draws(draws);
  }
  while (draws->drawn < wanted) {
    draw(draws);
  }
  const bool is_of_b = part == 1 || part == index + PARTS_BESIDE_KEYS;
  const double share = draws->point[index + (is_of_b ? draws->keys : 0)];
  return bw_number_rounded(bw_quantile(&draws->distribution[index], share));
}

/* every draw of the unbounded distributions before anything runs: nothing is cut off in silence */
static enum bw_status check_draws(struct bw_draws *draws, const struct bw_case *loaded,
                                  struct bw_diag *diag) {
  for (size_t row = 0; row < bw_draws_rows(draws); row++) {
    for (size_t i = 0; i < draws->keys; i++) {
      if (draws->distribution[i].kind != BW_DISTRIBUTION_NORMAL) {
        continue;
      }
      const struct bw_param *param = bw_param_find(bw_case_params(loaded), draws->name[i]);
      const double value = bw_draws_value(draws, row, i);
      if (value < param->min || value > param->max) {
        return bw_fail(diag, BW_E_USAGE,
                       "tolerances.%s = %s: draw %zu is %.6g, outside %.15g to %.15g %s; declare "
                       "bounded:STD:MIN:MAX, or a smaller STD",
                       param->key, loaded->tolerance[i].text, bw_draws_number(draws, row), value,
                       param->min, param->max, param->unit);
      }
    }
  }
  return BW_OK;
}

static enum bw_status check_setup(const struct bw_case *loaded, const struct bw_draws_setup *setup,
                                  size_t coordinates, struct bw_diag *diag) {
  if (loaded->tolerance_count == 0) {
    return bw_fail(diag, BW_E_USAGE,
                   "the case declares no tolerances to sample; add --set "
                   "tolerances.KEY=normal:STD or a group tolerances");
  }
  if (setup->count == 0 || setup->count > BW_DRAWS_MAX) {
    return bw_fail(diag, BW_E_USAGE, "%zu draws are out of range; give 1 to %u", setup->count,
                   BW_DRAWS_MAX);
  }
  if (setup->sampling == BW_SAMPLING_SOBOL && coordinates > gsl_qrng_sobol->max_dimension) {
    return bw_fail(diag, BW_E_USAGE,
                   "%zu coordinates are more than the %u of the Sobol' sequence; take --sampling "
                   "random, or fewer tolerances",
                   coordinates, gsl_qrng_sobol->max_dimension);
  }
  return BW_OK;
}

static enum bw_status fill(struct bw_draws *draws, const struct bw_case *loaded,
                           struct bw_diag *diag) {
  if (!make_room(draws)) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the samples");
  }
  for (size_t i = 0; i < draws->keys; i++) {
    draws->name[i] = loaded->tolerance[i].key;
    BW_TRY(centre(loaded, &loaded->tolerance[i], &draws->distribution[i], diag));
  }
  return check_draws(draws, loaded, diag);
}

enum bw_status bw_draws_create(const struct bw_case *loaded, const struct bw_draws_setup *setup,
                               struct bw_draws **out, struct bw_diag *diag) {
  *out = NULL;
  const size_t coordinates = loaded->tolerance_count * (setup->is_sensitivity ? 2 : 1);
  BW_TRY(check_setup(loaded, setup, coordinates, diag));
  struct bw_draws *draws = bw_alloc(1, sizeof *draws);
  if (draws == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the samples");
  }
  *draws = (struct bw_draws){
      .setup = *setup, .keys = loaded->tolerance_count, .coordinates = coordinates};
  const enum bw_status status = fill(draws, loaded, diag);
  if (status != BW_OK) {
    bw_draws_destroy(draws);
    return status;
  }
  *out = draws;
  return BW_OK;
}

void bw_draws_destroy(struct bw_draws *draws) {
  if (draws == NULL) {
    return;
  }
  if (draws->sequence != NULL) {
    gsl_qrng_free(draws->sequence);
  }
  if (draws->random != NULL) {
    gsl_rng_free(draws->random);
  }
  bw_free(draws->distribution);
  bw_free(draws->name);
  bw_free(draws->shift);
  bw_free(draws->point);
  bw_free(draws);
}

struct bw_draws_setup bw_draws_setup_of(const struct bw_draws *draws) {
  return draws->setup;
}

size_t bw_draws_key_count(const struct bw_draws *draws) {
  return draws->keys;
}

const char *bw_draws_key(const struct bw_draws *draws, size_t index) {
  BW_ASSERT(index < draws->keys);
  return draws->name[index];
}

size_t bw_draws_rows(const struct bw_draws *draws) {
  return draws->setup.count * parts(draws);
}

bool bw_draws_has_parts(const struct bw_draws *draws) {
  return draws->setup.is_sensitivity;
}

size_t bw_draws_number(const struct bw_draws *draws, size_t row) {
  return row / parts(draws) + 1;
}

const char *bw_draws_part(const struct bw_draws *draws, size_t row) {
  const size_t part = row % parts(draws);
  if (!draws->setup.is_sensitivity) {
    return "";
  }
  return part == 0 ? "A" : part == 1 ? "B" : draws->name[part - PARTS_BESIDE_KEYS];
}
