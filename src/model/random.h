/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RANDOM_H
#define BW_RANDOM_H

#include "model/signal.h"

#include <stdint.h>

/** Random numbers that are looked up, not drawn in turn: the same seed, repetition, channel and
 *  count give the same bits whatever was asked before, by whichever process, on any machine with
 *  IEEE 754 doubles (only + - x / and square roots are used, all of them correctly rounded).
 *
 *  Generator: Philox 4x32 with ten rounds, key (seed, repetition). Source: Salmon, Moraes, Dror,
 *  Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC 2011. */

/** Channels: one per place that needs chance. */
enum bw_random_channel {
  BW_RANDOM_SPEED,
  BW_RANDOM_WHEEL,        /**< and the next: an axle's wheels as the controller sees them */
  BW_RANDOM_PRESSURE = 3, /**< and the next */
  BW_RANDOM_TORQUE = 5,   /**< and the next */
  BW_RANDOM_ANTILOCK = 7, /**< and the next three: wheels as the antilock controller sees them */
  BW_RANDOM_LOSS = 11,    /**< and the next */
  BW_RANDOM_JITTER = 13   /**< and the next */
};

/** One block: `out` from `counter` under `key`. */
void bw_philox(const uint32_t counter[4], const uint32_t key[2], uint32_t out[4]);

/** Evenly spread over the open interval 0 .. 1, in steps of 2^-52. */
double bw_random_uniform(const struct bw_seed *seed, uint32_t channel, uint64_t count);

/** Standard normal deviate by the polar method. Source: Marsaglia and Bray, "A convenient method
 * for generating normal variables", SIAM Review 6 (1964). */
double bw_random_normal(const struct bw_seed *seed, uint32_t channel, uint64_t count);

/** Natural logarithm of x, 0 < x < 1, to a few units in the last place, the same bits everywhere;
 *  C libraries differ in theirs. */
double bw_random_log(double x);

#endif
