/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CHECK_H
#define BW_CHECK_H

/** What every test file includes: cmocka, and checks that print name, value and bound and that
 *  fail on NaN. */

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

/** |value - expected| <= tolerance; NaN fails. */
#define CHECK_CLOSE(value, expected, tolerance)                                                    \
  check_within(#value, (value), (expected) - (tolerance), (expected) + (tolerance), __FILE__,      \
               __LINE__)

/** |value / expected - 1| <= relative; NaN fails. */
#define CHECK_RELATIVE(value, expected, relative)                                                  \
  CHECK_CLOSE((value), (expected), fabs(expected) * (relative))

/** low <= value <= high; NaN fails. */
#define CHECK_WITHIN(value, low, high)                                                             \
  check_within(#value, (value), (low), (high), __FILE__, __LINE__)

static inline void check_within(const char *name, double value, double low, double high,
                                const char *file, int line) {
  if (!(value >= low && value <= high)) {
    print_error("%s = %.17g is not within [%.17g, %.17g]\n", name, value, low, high);
    _fail(file, line);
  }
}

/** Next pseudo-random number in [low, high); splitmix64, so a failure repeats. */
static inline double test_uniform(uint64_t *seed, double low, double high) {
  *seed += 0x9E3779B97F4A7C15u;
  uint64_t z = *seed;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  z ^= z >> 31;
  return low + (high - low) * ((double)(z >> 11) * 0x1.0p-53);
}

#endif
