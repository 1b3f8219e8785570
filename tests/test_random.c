/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "model/random.h"

#include <gsl/gsl_cdf.h>
#include <string.h>

/** Chance: the published generator, and the distributions made of it. Everything is fixed by its
 *  seed, so a bound that is met is met always; bounds are those that chance itself would miss once
 *  in ten thousand. */

enum { DRAWS = 40000, BINS = 40 };
static const double RARE = 1e-4;
static const struct bw_seed SEED = {.seed = 237.0, .run = 11.0};

/* known answers of philox4x32-10 as its authors publish them with the paper's code, from memory */
static void generator_gives_the_published_answers(void **state) {
  (void)state;
  static const uint32_t row[3][10] = {
      {0, 0, 0, 0, 0, 0, 0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8},
      {0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff, 0x408f276d,
       0x41c83b0e, 0xa20bc7c6, 0x6d5451fd},
      {0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344, 0xa4093822, 0x299f31d0, 0xd16cfe09,
       0x94fdcceb, 0x5001e420, 0x24126ea1},
  };
  for (size_t i = 0; i < 3; i++) {
    uint32_t out[4];
    bw_philox(row[i], row[i] + 4, out);
    for (size_t k = 0; k < 4; k++) {
      assert_int_equal(out[k], row[i][6 + k]);
    }
  }
}

/* chi-square of counts that should be alike, held between both rare tails: a count that is too even
 * is as wrong as one that is not */
static void check_even(const unsigned *bin, size_t bins, size_t draws) {
  const double expected = (double)draws / (double)bins;
  double sum = 0.0;
  for (size_t i = 0; i < bins; i++) {
    const double off = (double)bin[i] - expected;
    sum += off * off / expected;
  }
  CHECK_WITHIN(sum, gsl_cdf_chisq_Pinv(RARE, (double)bins - 1.0),
               gsl_cdf_chisq_Qinv(RARE, (double)bins - 1.0));
}

static void uniform_is_even(void **state) {
  (void)state;
  unsigned bin[BINS] = {0};
  for (uint64_t i = 0; i < DRAWS; i++) {
    const double x = bw_random_uniform(&SEED, BW_RANDOM_LOSS, i);
    assert_true(x > 0.0 && x < 1.0);
    bin[(size_t)(x * BINS)]++;
  }
  check_even(bin, BINS, DRAWS);
}

static void normal_has_its_distribution(void **state) {
  (void)state;
  unsigned bin[BINS] = {0};
  double sum = 0.0;
  double squares = 0.0;
  for (uint64_t i = 0; i < DRAWS; i++) {
    const double x = bw_random_normal(&SEED, BW_RANDOM_SPEED, i);
    sum += x;
    squares += x * x;
    bin[(size_t)(gsl_cdf_ugaussian_P(x) * BINS)]++;
  }
  check_even(bin, BINS, DRAWS);
  /* the mean of n is normal with 1/sqrt(n), the sum of squares chi-square with n */
  CHECK_CLOSE(sum / sqrt(DRAWS), 0.0, gsl_cdf_ugaussian_Qinv(RARE));
  CHECK_WITHIN(squares, gsl_cdf_chisq_Pinv(RARE, DRAWS), gsl_cdf_chisq_Qinv(RARE, DRAWS));
}

/* correlation of two rows of n draws is normal with 1/sqrt(n) */
static void draws_know_nothing_of_each_other(void **state) {
  (void)state;
  const struct bw_seed other_seed = {.seed = 238.0, .run = 11.0};
  const struct bw_seed other_run = {.seed = 237.0, .run = 12.0};
  double product[4] = {0.0};
  for (uint64_t i = 0; i < DRAWS; i++) {
    const double x = bw_random_normal(&SEED, BW_RANDOM_SPEED, i);
    product[0] += x * bw_random_normal(&SEED, BW_RANDOM_SPEED, i + 1);
    product[1] += x * bw_random_normal(&SEED, BW_RANDOM_WHEEL, i);
    product[2] += x * bw_random_normal(&other_seed, BW_RANDOM_SPEED, i);
    product[3] += x * bw_random_normal(&other_run, BW_RANDOM_SPEED, i);
  }
  for (size_t k = 0; k < 4; k++) {
    CHECK_CLOSE(product[k] / sqrt(DRAWS), 0.0, gsl_cdf_ugaussian_Qinv(RARE));
  }
}

static void logarithm_is_that_of_the_library(void **state) {
  (void)state;
  uint64_t seed = 20261126;
  for (int i = 0; i < 20000; i++) {
    const double x = pow(test_uniform(&seed, 0.0, 1.0), 1.0 + (double)(i % 30));
    if (x > 0.0 && x < 1.0) {
      /* 4 units in the last place; near one the difference to it decides */
      CHECK_CLOSE(bw_random_log(x), log(x), 9e-16 * fabs(log(x)));
    }
  }
}

/* the bits themselves, so that another machine or compiler can be held against this one */
static void bits_are_fixed(void **state) {
  (void)state;
  uint64_t sum = 0xcbf29ce484222325u;
  for (uint64_t i = 0; i < 1000; i++) {
    const double x = bw_random_normal(&SEED, BW_RANDOM_TORQUE, i);
    uint64_t bits = 0;
    memcpy(&bits, &x, sizeof bits);
    sum = (sum ^ bits) * 0x100000001b3u;
  }
  print_message("checksum of a thousand deviates: %016llx\n", (unsigned long long)sum);
  assert_true(sum == 0xd7c346fbcca58ed5u);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(generator_gives_the_published_answers),
      cmocka_unit_test(uniform_is_even),
      cmocka_unit_test(normal_has_its_distribution),
      cmocka_unit_test(draws_know_nothing_of_each_other),
      cmocka_unit_test(logarithm_is_that_of_the_library),
      cmocka_unit_test(bits_are_fixed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
