/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/summary.h"
#include "input/case_loader.h"
#include "input/number.h"
#include "strategies/registry.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NAMES_SIZE = 320 };

static void refuse_column(struct bw_case_loader *loader, const struct bw_place *place,
                          const char *key, const char *column) {
  const char *names[BW_SUMMARY_COUNT];
  for (int i = 0; i < (int)BW_SUMMARY_COUNT; i++) {
    names[i] = bw_summary_name((enum bw_summary_column)i);
  }
  const size_t nearest = bw_nearest(column, names, BW_SUMMARY_COUNT);
  if (nearest < BW_SUMMARY_COUNT) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept.%.120s: unknown column '%.100s'; did you mean '%s'?", key, column,
                   names[nearest]);
  } else {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept.%.120s: unknown column '%.100s'; name a column of summary.csv with _max "
                   "or _min behind it",
                   key, column);
  }
}

static struct bw_accept *slot_of(struct bw_case_loader *loader, const struct bw_place *place,
                                 const char *column) {
  struct bw_case *target = loader->target;
  for (size_t i = 0; i < target->accept_count; i++) {
    if (strcmp(target->accept[i].column, column) == 0) {
      return &target->accept[i];
    }
  }
  if (target->accept_count == BW_ACCEPT_MAX) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept: more than %d columns are limited; take some away", (int)BW_ACCEPT_MAX);
    return NULL;
  }
  struct bw_accept *accept = &target->accept[target->accept_count++];
  (void)snprintf(accept->column, sizeof accept->column, "%s", column);
  return accept;
}

void bw_accept_take(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                    double limit) {
  const size_t length = strlen(key);
  const bool is_max = length > 4 && strcmp(key + length - 4, "_max") == 0;
  const bool is_min = length > 4 && strcmp(key + length - 4, "_min") == 0;
  struct bw_accept probe = {0};
  if ((!is_max && !is_min) || length - 4 >= sizeof probe.column) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept.%.120s: neither a greatest nor a least value; put _max or _min behind "
                   "the column's name",
                   key);
    return;
  }
  memcpy(probe.column, key, length - 4);
  if (bw_summary_find(probe.column) == BW_SUMMARY_COUNT) {
    refuse_column(loader, place, key, probe.column);
    return;
  }
  if (!isfinite(limit)) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept.%.120s: %g is no finite number; give the limit as a number", key, limit);
    return;
  }
  struct bw_accept *accept = slot_of(loader, place, probe.column);
  if (accept == NULL) {
    return;
  }
  /* the case file's own limit comes after those of its includes, --set after all: last wins */
  if (is_max) {
    accept->has_max = true;
    accept->max = limit;
  } else {
    accept->has_min = true;
    accept->min = limit;
  }
  if (accept->has_max && accept->has_min && accept->min > accept->max) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept.%s: least value %.15g is above the greatest %.15g; swap or mend them",
                   accept->column, accept->min, accept->max);
  }
}

static void list_names(char names[NAMES_SIZE]) {
  size_t used = 0;
  names[0] = '\0';
  for (size_t i = 0; i < bw_strategy_count() && used < NAMES_SIZE; i++) {
    const int n = snprintf(names + used, NAMES_SIZE - used, "%s%s", i == 0 ? "" : ", ",
                           bw_strategy_at(i)->name);
    used += n > 0 ? (size_t)n : 0;
  }
}

static const char *nearest_strategy(const char *name) {
  const char *names[BW_CASE_STRATEGIES_MAX];
  size_t count = 0;
  while (count < bw_strategy_count() && count < BW_CASE_STRATEGIES_MAX) {
    names[count] = bw_strategy_at(count)->name;
    count++;
  }
  const size_t nearest = bw_nearest(name, names, count);
  return nearest < count ? names[nearest] : NULL;
}

void bw_strategy_take(struct bw_case_loader *loader, const struct bw_place *place,
                      const char *name) {
  struct bw_case *target = loader->target;
  if (strcmp(name, "all") == 0) {
    target->strategy_count = 0;
    return;
  }
  const struct bw_blend_strategy *strategy = bw_param_strategy(loader->values->table, name);
  if (strategy == NULL) {
    char names[NAMES_SIZE];
    list_names(names);
    const char *nearest = nearest_strategy(name);
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "strategies: unknown strategy '%.60s'; %s%s%sthere are %s", name,
                   nearest != NULL ? "did you mean '" : "", nearest != NULL ? nearest : "",
                   nearest != NULL ? "'? " : "", names);
    return;
  }
  for (size_t i = 0; i < target->strategy_count; i++) {
    if (target->strategies[i] == strategy) {
      BW_LOADER_FAIL(loader, place->file, place->line,
                     "strategies: '%s' is named twice; keep one of the two", name);
      return;
    }
  }
  if (target->strategy_count == BW_CASE_STRATEGIES_MAX) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "strategies: more than %d names; take some away", (int)BW_CASE_STRATEGIES_MAX);
    return;
  }
  target->strategies[target->strategy_count++] = strategy;
}
