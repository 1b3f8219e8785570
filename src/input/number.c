/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/number.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  TEXT_MAX = 255,        /**< bytes of one number */
  EXPONENT_MAX = 100000, /**< larger written exponents all overflow or vanish alike */
  WORD_MAX = 127         /**< bytes of a word that bw_nearest() compares */
};

/** A number cut into its parts: digits without point, and the power of ten they stand at. */
struct decimal {
  char digits[TEXT_MAX + 1];
  size_t count;
  bool is_negative;
  int exponent;
};

static bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

static bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

/** Digits with at most one point from [at, end); returns where they stop, NULL if there is none. */
static const char *scan_digits(const char *at, const char *end, struct decimal *out) {
  bool has_point = false;
  for (; at < end; at++) {
    if (*at == '.' && !has_point) {
      has_point = true;
    } else if (is_digit(*at)) {
      out->digits[out->count++] = *at;
      out->exponent -= has_point ? 1 : 0;
    } else {
      break;
    }
  }
  return out->count > 0 ? at : NULL;
}

/** Exponent part ("e-3") from [at, end), which must be whole. */
static bool scan_exponent(const char *at, const char *end, struct decimal *out) {
  if (*at != 'e' && *at != 'E') {
    return false;
  }
  at++;
  const bool is_negative = at < end && *at == '-';
  if (at < end && (*at == '-' || *at == '+')) {
    at++;
  }
  if (at == end) {
    return false;
  }
  int exponent = 0;
  for (; at < end; at++) {
    if (!is_digit(*at)) {
      return false;
    }
    exponent = exponent < EXPONENT_MAX ? exponent * 10 + (*at - '0') : exponent;
  }
  out->exponent += is_negative ? -exponent : exponent;
  return true;
}

static bool scan_decimal(const char *at, const char *end, struct decimal *out) {
  if (at < end && (*at == '-' || *at == '+')) {
    out->is_negative = *at == '-';
    at++;
  }
  at = scan_digits(at, end, out);
  if (at == NULL) {
    return false;
  }
  return at == end || scan_exponent(at, end, out);
}

/** Short numbers exactly: both factors are exact doubles, so one operation rounds once. */
static bool convert_short(const struct decimal *in, double *value) {
  static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                  1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                  1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
  if (in->count > 15 || in->exponent < -22 || in->exponent > 22) {
    return false;
  }
  int64_t whole = 0;
  for (size_t i = 0; i < in->count; i++) {
    whole = whole * 10 + (in->digits[i] - '0');
  }
  const double scaled = in->exponent < 0 ? (double)whole / powers[-in->exponent]
                                         : (double)whole * powers[in->exponent];
  *value = in->is_negative ? -scaled : scaled;
  return true;
}

bool bw_number_parse(const char *text, size_t length, double *value) {
  const char *end = text + length;
  while (text < end && is_blank(*text)) {
    text++;
  }
  while (text < end && is_blank(end[-1])) {
    end--;
  }
  if (text == end || end - text > TEXT_MAX) {
    return false;
  }
  struct decimal parts = {.count = 0};
  if (!scan_decimal(text, end, &parts)) {
    return false;
  }
  double result = 0.0;
  if (!convert_short(&parts, &result)) {
    /* the locale rules only the decimal point, so strtod gets a number without one */
    char plain[TEXT_MAX + 32];
    (void)snprintf(plain, sizeof plain, "%s%.*se%d", parts.is_negative ? "-" : "", (int)parts.count,
                   parts.digits, parts.exponent);
    result = strtod(plain, NULL);
  }
  if (!isfinite(result)) {
    return false;
  }
  *value = result;
  return true;
}

static size_t least(size_t a, size_t b) {
  return a < b ? a : b;
}

/** Levenshtein distance of two words of at most WORD_MAX bytes, one row of the table at a time. */
static size_t edit_distance(const char *a, size_t a_length, const char *b, size_t b_length) {
  size_t row[WORD_MAX + 1];
  for (size_t j = 0; j <= b_length; j++) {
    row[j] = j;
  }
  for (size_t i = 1; i <= a_length; i++) {
    size_t diagonal = row[0];
    row[0] = i;
    for (size_t j = 1; j <= b_length; j++) {
      const size_t replaced = diagonal + (a[i - 1] == b[j - 1] ? 0u : 1u);
      diagonal = row[j];
      row[j] = least(replaced, least(row[j], row[j - 1]) + 1);
    }
  }
  return row[b_length];
}

size_t bw_nearest(const char *word, const char *const *candidates, size_t count) {
  const size_t length = strlen(word);
  size_t best = count;
  size_t best_distance = length / 3 + 1;
  if (length > WORD_MAX) {
    return count;
  }
  for (size_t i = 0; i < count; i++) {
    const size_t other = strlen(candidates[i]);
    if (other > WORD_MAX) {
      continue;
    }
    const size_t distance = edit_distance(word, length, candidates[i], other);
    if (distance < best_distance) {
      best_distance = distance;
      best = i;
    }
  }
  return best;
}

double bw_number_rounded(double value) {
  char text[32];
  double rounded = value;
  (void)snprintf(text, sizeof text, "%.15g", value);
  (void)bw_number_parse(text, strlen(text), &rounded);
  return rounded;
}
