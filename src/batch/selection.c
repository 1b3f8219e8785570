/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/selection.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { DIGIT_BITS = 8, DIGITS = 256, KEY_BITS = 64, BLOCK = 256, TARGETS = 2 * BW_QUANTILES_MAX };

#define SIGN_BIT (UINT64_C(1) << 63)

/* an order statistic on its way */
struct target {
  uint64_t known; /* leading bits, the rest 0 */
  size_t rank;    /* among the values that share them, from 0 */
};

/* unsigned numbers in the order of the doubles */
static uint64_t key_of(double value) {
  uint64_t bits = 0;
  memcpy(&bits, &value, sizeof bits);
  return (bits & SIGN_BIT) != 0 ? ~bits : bits | SIGN_BIT;
}

static double value_of(uint64_t key) {
  const uint64_t bits = (key & SIGN_BIT) != 0 ? key & ~SIGN_BIT : ~key;
  double value = 0.0;
  memcpy(&value, &bits, sizeof value);
  return value;
}

static bool agrees(uint64_t key, uint64_t known, unsigned shift) {
  const unsigned above = shift + DIGIT_BITS;
  return above >= KEY_BITS || (key ^ known) >> above == 0;
}

static void count_block(const double *block, size_t n, unsigned shift, const struct target *target,
                        size_t targets, size_t counts[TARGETS][DIGITS]) {
  for (size_t i = 0; i < n; i++) {
    if (!isfinite(block[i])) {
      continue;
    }
    const uint64_t key = key_of(block[i]);
    for (size_t t = 0; t < targets; t++) {
      if (agrees(key, target[t].known, shift)) {
        counts[t][key >> shift & (DIGITS - 1)]++;
      }
    }
  }
}

static void narrow(struct target *target, const size_t counts[DIGITS], unsigned shift) {
  uint64_t digit = 0;
  while (digit < DIGITS - 1 && target->rank >= counts[digit]) {
    target->rank -= counts[digit++];
  }
  target->known |= digit << shift;
}

static void pass(const struct bw_values *values, unsigned shift, struct target *target,
                 size_t targets) {
  size_t counts[TARGETS][DIGITS] = {{0}};
  double block[BLOCK];
  size_t from = 0;
  for (;;) {
    const size_t n = values->read(values->context, from, block, BLOCK);
    if (n == 0) {
      break;
    }
    count_block(block, n, shift, target, targets, counts);
    from += n;
  }
  for (size_t t = 0; t < targets; t++) {
    narrow(&target[t], counts[t], shift);
  }
}

void bw_select_quantiles(const struct bw_values *values, size_t finite, const double *share,
                         size_t count, double *quantile) {
  struct target target[TARGETS] = {{0}};
  BW_ASSERT(finite > 0 && count <= BW_QUANTILES_MAX);
  for (size_t i = 0; i < count; i++) {
    const double place = share[i] * (double)(finite - 1);
    target[2 * i].rank = (size_t)floor(place);
    target[2 * i + 1].rank = (size_t)ceil(place);
  }
  for (unsigned shift = KEY_BITS; shift > 0;) {
    shift -= DIGIT_BITS;
    pass(values, shift, target, 2 * count);
  }
  for (size_t i = 0; i < count; i++) {
    const double place = share[i] * (double)(finite - 1);
    const double low = value_of(target[2 * i].known);
    const double high = value_of(target[2 * i + 1].known);
    quantile[i] = low + (place - floor(place)) * (high - low);
  }
}
