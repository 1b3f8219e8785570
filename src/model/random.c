/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/random.h"

#include <math.h>
#include <stddef.h>

enum { ROUNDS = 10 };

/* each attempt has a number of its own in the counter; four fail with a chance of 2e-3, 2^16 never
 */
enum { ATTEMPTS = 65536 };

/* multipliers and key steps of the generator, from its paper */
static const uint32_t MULTIPLY[2] = {0xD2511F53u, 0xCD9E8D57u};
static const uint32_t STEP[2] = {0x9E3779B9u, 0xBB67AE85u};

/* ln 2, and sqrt(1/2), which splits the mantissas around one */
static const double LN2 = 0.693147180559945309417;
static const double HALF_ROOT = 0.707106781186547524401;

/* terms of the series of artanh: |z| <= 0.1716, z^2 <= 0.0295, and 0.0295^11 / 23 < 2^-58 */
enum { LOG_TERMS = 11 };

void bw_philox(const uint32_t counter[4], const uint32_t key[2], uint32_t out[4]) {
  uint32_t x[4] = {counter[0], counter[1], counter[2], counter[3]};
  uint32_t k[2] = {key[0], key[1]};
  for (int i = 0; i < ROUNDS; i++) {
    const uint64_t even = (uint64_t)MULTIPLY[0] * x[0];
    const uint64_t odd = (uint64_t)MULTIPLY[1] * x[2];
    x[0] = (uint32_t)(odd >> 32) ^ x[1] ^ k[0];
    x[1] = (uint32_t)odd;
    x[2] = (uint32_t)(even >> 32) ^ x[3] ^ k[1];
    x[3] = (uint32_t)even;
    k[0] += STEP[0];
    k[1] += STEP[1];
  }
  for (int i = 0; i < 4; i++) {
    out[i] = x[i];
  }
}

/* two uniform numbers */
static void draw(const struct bw_seed *seed, uint32_t channel, uint64_t count, uint32_t attempt,
                 double uniform[2]) {
  const uint32_t counter[4] = {(uint32_t)count, (uint32_t)(count >> 32), channel, attempt};
  const uint32_t key[2] = {(uint32_t)seed->seed, (uint32_t)seed->run};
  uint32_t bits[4];
  bw_philox(counter, key, bits);
  for (size_t i = 0; i < 2; i++) {
    /* 52 bits and a half step: neither 0 nor 1 can come out */
    const uint64_t whole = ((uint64_t)bits[2 * i] << 32 | bits[2 * i + 1]) >> 12;
    uniform[i] = ((double)whole + 0.5) * 0x1p-52;
  }
}

double bw_random_uniform(const struct bw_seed *seed, uint32_t channel, uint64_t count) {
  double uniform[2];
  draw(seed, channel, count, 0, uniform);
  return uniform[0];
}

double bw_random_log(double x) {
  int exponent = 0;
  double mantissa = frexp(x, &exponent);
  if (mantissa < HALF_ROOT) {
    mantissa *= 2.0;
    exponent--;
  }
  const double z = (mantissa - 1.0) / (mantissa + 1.0);
  const double square = z * z;
  double sum = 0.0;
  for (int i = LOG_TERMS; i >= 0; i--) {
    sum = sum * square + 1.0 / (double)(2 * i + 1);
  }
  return (double)exponent * LN2 + 2.0 * z * sum;
}

double bw_random_normal(const struct bw_seed *seed, uint32_t channel, uint64_t count) {
  for (uint32_t attempt = 0; attempt < ATTEMPTS; attempt++) {
    double uniform[2];
    draw(seed, channel, count, attempt, uniform);
    const double u = 2.0 * uniform[0] - 1.0;
    const double v = 2.0 * uniform[1] - 1.0;
    const double square = u * u + v * v;
    if (square < 1.0 && square > 0.0) {
      return u * sqrt(-2.0 * bw_random_log(square) / square);
    }
  }
  return 0.0;
}
