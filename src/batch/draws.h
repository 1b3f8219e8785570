/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DRAWS_H
#define BW_DRAWS_H

#include "input/case.h"
#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** Values drawn for the declared tolerances of a case.
 *
 *  Draw k is point k of a sequence in the unit cube, each coordinate put through the quantile
 *  function of its distribution. The sequence is GSL's Sobol' sequence (a quasi-random one, which
 *  fills the cube evenly; point 1 is the middle) or GSL's Mersenne twister. A seed above 0 shifts
 *  the Sobol' sequence by one random vector modulo 1 (Cranley and Patterson 1976).
 *
 *  For sensitivity indices each draw of 2d coordinates makes d + 2 rows: A (the first d), B (the
 *  others), and for each key A with the coordinate of that key taken from B (Saltelli et al. 2010,
 *  see batch/sobol_index.h). */

enum bw_sampling { BW_SAMPLING_SOBOL, BW_SAMPLING_RANDOM };

/** Most draws. */
#define BW_DRAWS_MAX 1000000u

struct bw_draws_setup {
  size_t count; /**< draws, 1 .. BW_DRAWS_MAX */
  enum bw_sampling sampling;
  unsigned long seed;
  bool is_sensitivity;
};

struct bw_draws;

/** Prepare the draws for all tolerances of `loaded`, which must live as long: the case's values are
 *  the centres that were not given. BW_E_USAGE with a message: no tolerances, a count out of range,
 *  more coordinates than the Sobol' sequence has (40), a centre that is missing or outside its
 * ends, ends between which nearly nothing lies, and a normal distribution of which one of the draws
 *  leaves the key's range, which has to be declared as bounded. BW_E_MEMORY. On error *out is
 *  NULL. */
BW_MUST_CHECK enum bw_status bw_draws_create(const struct bw_case *loaded,
                                             const struct bw_draws_setup *setup,
                                             struct bw_draws **out, struct bw_diag *diag);

void bw_draws_destroy(struct bw_draws *draws);

/** What it was made with. */
struct bw_draws_setup bw_draws_setup_of(const struct bw_draws *draws);

/** Number of keys, and key `index`. */
size_t bw_draws_key_count(const struct bw_draws *draws);
const char *bw_draws_key(const struct bw_draws *draws, size_t index);

/** Rows: the draws, times d + 2 for sensitivity. */
size_t bw_draws_rows(const struct bw_draws *draws);

/** True when draws have parts A, B and one per key. */
bool bw_draws_has_parts(const struct bw_draws *draws);

/** Number of the draw of `row`, from 1; and its part: A, B or a key ("" without parts). */
size_t bw_draws_number(const struct bw_draws *draws, size_t row);
const char *bw_draws_part(const struct bw_draws *draws, size_t row);

/** Value of key `index` in `row`, edge unit, rounded to 15 significant digits. Rows in rising order
 *  are cheap; going back starts the sequence anew. */
double bw_draws_value(struct bw_draws *draws, size_t row, size_t index);

#endif
