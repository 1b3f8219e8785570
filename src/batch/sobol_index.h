/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SOBOL_INDEX_H
#define BW_SOBOL_INDEX_H

#include "status.h"

#include <stdbool.h>
#include <stddef.h>

/** First-order and total sensitivity of an output to independent inputs, from draws of the design
 *  A, B, A with the column of key j from B (batch/draws.h):
 *
 *    S_j  = 1/N sum (f_B - c)(f_ABj - f_A) / V      share of the variance due to key j alone
 *    ST_j = 1/(2N) sum (f_A - f_ABj)^2 / V          the same with all its interactions
 *
 *  V is the variance of all f_A and f_B, c their mean. S_j: Saltelli, Annoni, Azzini, Campolongo,
 *  Ratto, Tarantola, Comput. Phys. Commun. 181 (2010) 259, table 2 (b); ST_j: Jansen, Comput. Phys.
 *  Commun. 117 (1999) 35, ibid. (f). Both from memory; tests hold them against closed forms.
 *
 *  Confidence by bootstrap: draws are dealt to BW_SOBOL_DECKS decks in turn, only the sums of a
 * deck are kept, and decks are drawn with replacement. Up to that many draws this is the ordinary
 *  bootstrap; beyond, memory stays what it is. Even a quasi-random sequence is treated as random,
 * so its intervals are on the wide side. */

enum { BW_SOBOL_DECKS = 256, BW_SOBOL_RESAMPLES = 500 };

struct bw_sobol;

/** For `keys` inputs. NULL without memory; free with
 *  bw_sobol_destroy(), NULL is fine. */
struct bw_sobol *bw_sobol_create(size_t keys);
void bw_sobol_destroy(struct bw_sobol *sobol);

/** Forget all draws; `centre` is about the mean of the output that comes. */
void bw_sobol_start(struct bw_sobol *sobol, double centre);

/** One draw: f (keys + 2) = f_A, f_B, f_AB1, ..., all finite. */
void bw_sobol_add(struct bw_sobol *sobol, const double *f);

/** An estimate with its 95 % interval (2.5 and 97.5 % of the resamples). */
struct bw_sobol_estimate {
  double value;
  double low;
  double high;
};

/** Indices (keys) of what was added. The same draws give the same intervals. False when fewer than
 *  two draws or no variance is there; nothing is written then. */
bool bw_sobol_indices(struct bw_sobol *sobol, struct bw_sobol_estimate *first,
                      struct bw_sobol_estimate *total);

#endif
