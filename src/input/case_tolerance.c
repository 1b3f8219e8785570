/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"
#include "input/distribution.h"

#include <stdio.h>
#include <string.h>

static void refuse_key(struct bw_case_loader *loader, const struct bw_place *place,
                       const char *key) {
  const char *nearest = bw_param_nearest(loader->values->table, key);
  if (nearest != NULL) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "tolerances: unknown key '%.120s'; did you mean '%s'?", key, nearest);
  } else {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "tolerances: unknown key '%.120s'; see brakeweave list parameters", key);
  }
}

static size_t find(const struct bw_case *target, const char *key) {
  size_t i = 0;
  while (i < target->tolerance_count && strcmp(target->tolerance[i].key, key) != 0) {
    i++;
  }
  return i;
}

static void drop(struct bw_case *target, size_t index) {
  if (index < target->tolerance_count) {
    target->tolerance_count--;
    memmove(&target->tolerance[index], &target->tolerance[index + 1],
            (target->tolerance_count - index) * sizeof target->tolerance[0]);
  }
}

/* the case file's own comes after those of its includes, --set after all: the last one wins */
void bw_tolerance_take(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                       const char *text) {
  struct bw_case *target = loader->target;
  const struct bw_param *param = bw_param_find(loader->values->table, key);
  struct bw_tolerance taken = {0};
  char why[BW_DISTRIBUTION_WHY_MAX] = "";
  if (param == NULL) {
    refuse_key(loader, place, key);
    return;
  }
  const size_t index = find(target, param->key);
  if (strcmp(text, "none") == 0) {
    drop(target, index);
    return;
  }
  if (param->kind != BW_PARAM_NUMBER) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "tolerances.%s: is no number and cannot spread; sweep it with --over",
                   param->key);
  } else if (strlen(text) >= sizeof taken.text) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "tolerances.%s: is too long; write %s = \"normal:STD\"", param->key, param->key);
  } else if (!bw_distribution_parse(text, param, &taken.distribution, why)) {
    BW_LOADER_FAIL(loader, place->file, place->line, "tolerances.%s: %s", param->key, why);
  } else if (index == BW_TOLERANCES_MAX) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "tolerances: more than %d keys spread; take some away", (int)BW_TOLERANCES_MAX);
  } else {
    taken.key = param->key;
    (void)snprintf(taken.text, sizeof taken.text, "%s", text);
    target->tolerance[index] = taken;
    target->tolerance_count += index == target->tolerance_count ? 1 : 0;
  }
}
