/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/distribution.h"

#include "input/number.h"

#include <stdio.h>
#include <string.h>

enum { NUMBERS_MAX = 4, KINDS = 4 };

/* word, numbers without and with a centre, how it is written; in the order of the enum */
static const struct form {
  const char *word;
  size_t without;
  size_t with;
  const char *usage;
} FORMS[KINDS] = {
    {"normal", 1, 2, "normal:STD or normal:MEAN:STD"},
    {"bounded", 3, 4, "bounded:STD:MIN:MAX or bounded:MEAN:STD:MIN:MAX"},
    {"uniform", 2, 2, "uniform:MIN:MAX"},
    {"triangular", 2, 3, "triangular:MIN:MAX or triangular:MIN:MODE:MAX"},
};

#define WHY(...) ((void)snprintf(why, BW_DISTRIBUTION_WHY_MAX, __VA_ARGS__), false)

/* numbers behind the colons from `at` on; false when one of them is none */
static bool read_numbers(const char *at, double number[NUMBERS_MAX], size_t *count) {
  *count = 0;
  while (*at == ':') {
    const size_t length = strcspn(at + 1, ":");
    if (*count == NUMBERS_MAX || !bw_number_parse(at + 1, length, &number[*count])) {
      return false;
    }
    (*count)++;
    at += 1 + length;
  }
  return true;
}

static void take_numbers(const double *number, size_t count, struct bw_distribution *out) {
  const struct form *form = &FORMS[out->kind];
  out->has_centre = form->with != form->without && count == form->with;
  switch (out->kind) {
  case BW_DISTRIBUTION_NORMAL:
  case BW_DISTRIBUTION_BOUNDED:
    if (out->has_centre) {
      out->centre = *number++;
    }
    out->deviation = number[0];
    out->min = out->kind == BW_DISTRIBUTION_BOUNDED ? number[1] : 0.0;
    out->max = out->kind == BW_DISTRIBUTION_BOUNDED ? number[2] : 0.0;
    break;
  case BW_DISTRIBUTION_UNIFORM:
  case BW_DISTRIBUTION_TRIANGULAR:
    out->min = number[0];
    out->max = number[count - 1];
    out->centre = out->has_centre ? number[1] : 0.0;
    break;
  }
}

static bool check_ends(const struct bw_distribution *it, const struct bw_param *param,
                       char why[BW_DISTRIBUTION_WHY_MAX]) {
  if (!(it->min < it->max)) {
    return WHY("MIN %.15g is not below MAX %.15g; swap or mend them", it->min, it->max);
  }
  if (it->min < param->min || it->max > param->max) {
    return WHY("%.15g to %.15g leaves the key's range; stay within %.15g to %.15g %s", it->min,
               it->max, param->min, param->max, param->unit);
  }
  return true;
}

static bool check(const struct bw_distribution *it, const struct bw_param *param,
                  char why[BW_DISTRIBUTION_WHY_MAX]) {
  const bool has_deviation =
      it->kind == BW_DISTRIBUTION_NORMAL || it->kind == BW_DISTRIBUTION_BOUNDED;
  if (has_deviation && !(it->deviation > 0.0)) {
    return WHY("standard deviation %.15g is not above 0; give how far the values spread",
               it->deviation);
  }
  if (it->has_centre && (it->centre < param->min || it->centre > param->max)) {
    return WHY("%.15g is outside the key's range; give one within %.15g to %.15g %s", it->centre,
               param->min, param->max, param->unit);
  }
  if (it->kind != BW_DISTRIBUTION_NORMAL && !check_ends(it, param, why)) {
    return false;
  }
  if (it->kind == BW_DISTRIBUTION_TRIANGULAR && it->has_centre &&
      (it->centre < it->min || it->centre > it->max)) {
    return WHY("MODE %.15g is not between MIN %.15g and MAX %.15g; mend one of them", it->centre,
               it->min, it->max);
  }
  return true;
}

bool bw_distribution_parse(const char *text, const struct bw_param *param,
                           struct bw_distribution *out, char why[BW_DISTRIBUTION_WHY_MAX]) {
  const size_t length = strcspn(text, ":");
  int kind = 0;
  while (kind < KINDS &&
         (strlen(FORMS[kind].word) != length || strncmp(FORMS[kind].word, text, length) != 0)) {
    kind++;
  }
  if (kind == KINDS) {
    return WHY("'%.60s' is no distribution; write normal:STD, bounded:STD:MIN:MAX, uniform:MIN:MAX "
               "or triangular:MIN:MAX",
               text);
  }
  double number[NUMBERS_MAX] = {0.0};
  size_t count = 0;
  const struct form *form = &FORMS[kind];
  if (!read_numbers(text + length, number, &count) ||
      (count != form->without && count != form->with)) {
    return WHY("'%.60s' has no such numbers; write %s", text, form->usage);
  }
  struct bw_distribution read = {.kind = (enum bw_distribution_kind)kind};
  take_numbers(number, count, &read);
  if (!check(&read, param, why)) {
    return false;
  }
  *out = read;
  return true;
}
