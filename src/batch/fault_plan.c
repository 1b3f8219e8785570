/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/fault_plan.h"

#include "alloc.h"

#include <stdbool.h>

enum { VALUES_MOST = 1000 /* of all keys together, for pairs */ };

/* pairs of values that have come together; a value is counted through all keys */
struct cover {
  const struct bw_sweep_plan *axes;
  size_t first[BW_SWEEP_AXES_MAX]; /* number of each key's first value */
  size_t values;
  bool *met; /* (values x values) */
};

static bool *pair(const struct cover *cover, size_t i, size_t a, size_t j, size_t b) {
  return &cover->met[(cover->first[i] + a) * cover->values + cover->first[j] + b];
}

static void mark(const struct cover *cover, const size_t *place) {
  for (size_t i = 0; i < cover->axes->axis_count; i++) {
    for (size_t j = i + 1; j < cover->axes->axis_count; j++) {
      *pair(cover, i, place[i], j, place[j]) = true;
    }
  }
}

/* the first pair of values of keys `i` and `j` that is missing is set in `place`; false: none is */
static bool set_missing_of(const struct cover *cover, size_t i, size_t j, size_t *place,
                           bool *is_set) {
  const struct bw_sweep_axis *axis = cover->axes->axis;
  for (size_t k = 0; k < axis[i].count * axis[j].count; k++) {
    if (!*pair(cover, i, k / axis[j].count, j, k % axis[j].count)) {
      place[i] = k / axis[j].count;
      place[j] = k % axis[j].count;
      is_set[i] = is_set[j] = true;
      return true;
    }
  }
  return false;
}

/* the same for any two keys */
static bool set_missing(const struct cover *cover, size_t *place, bool *is_set) {
  for (size_t i = 0; i < cover->axes->axis_count; i++) {
    for (size_t j = i + 1; j < cover->axes->axis_count; j++) {
      if (set_missing_of(cover, i, j, place, is_set)) {
        return true;
      }
    }
  }
  return false;
}

/* missing pairs that value `a` of key `i` makes with the keys that are set */
static size_t brings(const struct cover *cover, size_t i, size_t a, const size_t *place,
                     const bool *is_set) {
  size_t count = 0;
  for (size_t j = 0; j < cover->axes->axis_count; j++) {
    if (j != i && is_set[j]) {
      const bool *met = i < j ? pair(cover, i, a, j, place[j]) : pair(cover, j, place[j], i, a);
      count += *met ? 0 : 1;
    }
  }
  return count;
}

static void fill_rest(const struct cover *cover, size_t *place, bool *is_set) {
  for (size_t i = 0; i < cover->axes->axis_count; i++) {
    size_t most = 0;
    for (size_t a = 0; a < cover->axes->axis[i].count && !is_set[i]; a++) {
      const size_t count = brings(cover, i, a, place, is_set);
      if (a == 0 || count > most) {
        place[i] = a;
        most = count;
      }
    }
    is_set[i] = true;
  }
}

static size_t point_of(const struct bw_sweep_plan *axes, const size_t *place) {
  size_t point = 0;
  for (size_t i = 0; i < axes->axis_count; i++) {
    point = point * axes->axis[i].count + place[i];
  }
  return point;
}

static enum bw_status add(struct bw_fault_plan *plan, size_t point, struct bw_diag *diag) {
  if (plan->count == BW_FAULT_CONDITIONS_MOST) {
    return bw_fail(diag, BW_E_USAGE, "the lists make more than %u conditions; shorten them",
                   BW_FAULT_CONDITIONS_MOST);
  }
  size_t *grown = bw_realloc(plan->point, plan->count + 1, sizeof *grown);
  if (grown == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the conditions");
  }
  plan->point = grown;
  plan->point[plan->count++] = point;
  return BW_OK;
}

static enum bw_status choose_all(const struct bw_sweep_plan *axes, struct bw_fault_plan *out,
                                 struct bw_diag *diag) {
  if (axes->point_count > BW_FAULT_CONDITIONS_MOST) {
    return bw_fail(diag, BW_E_USAGE,
                   "the lists make %zu conditions, more than %u; shorten them or take "
                   "--cross pairs",
                   axes->point_count, BW_FAULT_CONDITIONS_MOST);
  }
  for (size_t i = 0; i < axes->point_count; i++) {
    BW_TRY(add(out, i, diag));
  }
  return BW_OK;
}

static enum bw_status choose_pairs(const struct cover *cover, struct bw_fault_plan *out,
                                   struct bw_diag *diag) {
  size_t place[BW_SWEEP_AXES_MAX] = {0};
  do {
    bool is_set[BW_SWEEP_AXES_MAX] = {false};
    if (out->count > 0 && !set_missing(cover, place, is_set)) {
      break;
    }
    if (out->count > 0) {
      fill_rest(cover, place, is_set);
    }
    mark(cover, place);
    BW_TRY(add(out, point_of(cover->axes, place), diag));
  } while (true);
  return BW_OK;
}

enum bw_status bw_fault_plan_choose(const struct bw_sweep_plan *axes, enum bw_fault_cross cross,
                                    struct bw_fault_plan *out, struct bw_diag *diag) {
  BW_ASSERT(axes->points == NULL && axes->point_count > 0);
  *out = (struct bw_fault_plan){0};
  enum bw_status status = BW_OK;
  if (cross == BW_FAULT_CROSS_FULL || axes->axis_count < 2) {
    status = choose_all(axes, out, diag);
  } else {
    struct cover cover = {.axes = axes};
    for (size_t i = 0; i < axes->axis_count; i++) {
      cover.first[i] = cover.values;
      cover.values += axes->axis[i].count;
    }
    if (cover.values > VALUES_MOST) {
      return bw_fail(diag, BW_E_USAGE, "the lists hold %zu values, more than %d; shorten them",
                     cover.values, (int)VALUES_MOST);
    }
    cover.met = bw_alloc(cover.values * cover.values, sizeof *cover.met);
    status = cover.met != NULL ? choose_pairs(&cover, out, diag)
                               : bw_fail(diag, BW_E_MEMORY, "out of memory for the conditions");
    bw_free(cover.met);
  }
  if (status != BW_OK) {
    bw_fault_plan_free(out);
  }
  return status;
}

void bw_fault_plan_free(struct bw_fault_plan *plan) {
  bw_free(plan->point);
  *plan = (struct bw_fault_plan){0};
}

size_t bw_fault_plan_place(const struct bw_sweep_plan *axes, size_t point, size_t index) {
  BW_ASSERT(index < axes->axis_count);
  for (size_t i = axes->axis_count - 1; i > index; i--) {
    point /= axes->axis[i].count;
  }
  return point % axes->axis[index].count;
}
