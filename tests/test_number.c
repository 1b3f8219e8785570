/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "input/number.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool parse(const char *text, double *value) {
  return bw_number_parse(text, strlen(text), value);
}

static void whole_numbers_are_read(void **state) {
  (void)state;
  static const struct {
    const char *text;
    double value;
  } good[] = {
      {"0", 0.0},           {"-0", -0.0},     {"237", 237.0},
      {"+237.5", 237.5},    {"-.5", -0.5},    {"5.", 5.0},
      {"  1.5\t", 1.5},     {"1e3", 1000.0},  {"1.25E-2", 0.0125},
      {"007.10", 7.1},      {"0.1", 0.1},     {"123456789012345678", 123456789012345678.0},
      {"1e22", 1e22},       {"1e23", 1e23},   {"4.35e-300", 4.35e-300},
      {"1e-99999999", 0.0}, {"0e99999", 0.0}, {"1.7976931348623157e308", 1.7976931348623157e308}};
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
    double value = -77.0;
    if (!parse(good[i].text, &value)) {
      fail_msg("'%s' was refused", good[i].text);
    }
    CHECK_CLOSE(value, good[i].value, 0.0);
  }
}

static void anything_else_is_refused(void **state) {
  (void)state;
  static const char *const bad[] = {"",     " ",     ".",     "-",    "+-1",   "e5",   "1e",
                                    "1e+",  "1,5",   "1.5x",  "x1.5", "1 2",   "0x10", "nan",
                                    "-inf", "1e309", "1.2.3", "--1",  "1e5.0", "1_0",  "12 km"};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    double value = -77.0;
    if (parse(bad[i], &value)) {
      fail_msg("'%s' was taken as %g", bad[i], value);
    }
    CHECK_CLOSE(value, -77.0, 0.0); /* untouched */
  }
  char text[300];
  memset(text, '1', sizeof text);
  double value = -77.0;
  assert_false(bw_number_parse(text, 256, &value));
  assert_true(bw_number_parse(text, 255, &value));
  assert_false(bw_number_parse("1\0002", 3, &value)); /* a byte 0 inside */
}

static void only_the_given_bytes_count(void **state) {
  (void)state;
  double value = 0.0;
  assert_true(bw_number_parse("12345", 2, &value));
  CHECK_CLOSE(value, 12.0, 0.0);
  assert_true(bw_number_parse("1e55", 3, &value));
  CHECK_CLOSE(value, 1e5, 0.0);
}

/* strtod of the C locale rounds correctly and is the yardstick, bit for bit */
static void printed_doubles_come_back(void **state) {
  (void)state;
  uint64_t seed = 20250611;
  static const int digits[] = {17, 3, 9, 15, 40};
  for (int i = 0; i < 20000; i++) {
    const double scale = pow(10.0, test_uniform(&seed, -30.0, 30.0));
    const double number = scale * test_uniform(&seed, -1.0, 1.0);
    char text[128];
    (void)(i % 2 == 0 ? snprintf(text, sizeof text, "%.*g", digits[i % 5], number)
                      : snprintf(text, sizeof text, "%.*f", digits[i % 5], number));
    double value = 0.0;
    assert_true(parse(text, &value));
    CHECK_CLOSE(value, strtod(text, NULL), 0.0);
  }
}

static void locale_does_not_matter(void **state) {
  (void)state;
  static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "fr_FR.utf8"};
  const char *set = NULL;
  for (size_t i = 0; i < 4 && set == NULL; i++) {
    set = setlocale(LC_ALL, names[i]);
  }
  if (set == NULL || strcmp(localeconv()->decimal_point, ",") != 0) {
    print_message("no locale with a decimal comma on this machine\n");
    (void)setlocale(LC_ALL, "C");
    skip();
  }
  double value = 0.0;
  assert_true(parse("1.5", &value));
  CHECK_CLOSE(value, 1.5, 0.0);
  assert_true(parse("1.2345678901234567890e-7", &value)); /* the long way through strtod */
  CHECK_CLOSE(value, 1.2345678901234567890e-7, 0.0);
  assert_false(parse("1,5", &value));
  (void)setlocale(LC_ALL, "C");
}

static void nearest_word_is_found(void **state) {
  (void)state;
  static const char *const words[] = {"speed_kmh", "time_s", "decel_mps2", "udds", "us06"};
  assert_int_equal(bw_nearest("speed_kmh", words, 5), 0);
  assert_int_equal(bw_nearest("sped_kmh", words, 5), 0);   /* one lost */
  assert_int_equal(bw_nearest("time_sec", words, 5), 1);   /* two too many, of 8: near */
  assert_int_equal(bw_nearest("decle_mps2", words, 5), 2); /* two exchanged */
  assert_int_equal(bw_nearest("uds", words, 5), 3);
  assert_int_equal(bw_nearest("us6", words, 5), 4);
  assert_int_equal(bw_nearest("torque_nm", words, 5), 5);
  assert_int_equal(bw_nearest("", words, 5), 5);
  assert_int_equal(bw_nearest("udds", words, 0), 0);
  char longer[200];
  memset(longer, 'a', sizeof longer - 1);
  longer[sizeof longer - 1] = '\0';
  assert_int_equal(bw_nearest(longer, words, 5), 5);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whole_numbers_are_read),     cmocka_unit_test(anything_else_is_refused),
      cmocka_unit_test(only_the_given_bytes_count), cmocka_unit_test(printed_doubles_come_back),
      cmocka_unit_test(locale_does_not_matter),     cmocka_unit_test(nearest_word_is_found),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
