/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/assess_digest.h"

#include "alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

double bw_assess_room(const struct bw_assess_row *row) {
  const double size = fabs(row->limit);
  if (size > 0.0 || !isfinite(row->margin)) {
    return row->margin / size;
  }
  return fabs(row->margin) > 0.0 ? copysign((double)INFINITY, row->margin) : 0.0;
}

static void keep_nearer(const struct bw_assess_row **kept, const struct bw_assess_row *row) {
  if (*kept == NULL || bw_assess_room(row) < bw_assess_room(*kept)) {
    *kept = row;
  }
}

void bw_assess_tally_add(struct bw_assess_tally *tally, const struct bw_assess_row *row) {
  if (!isfinite(row->result)) {
    tally->unassessed++;
    tally->open = tally->open != NULL ? tally->open : row;
    return;
  }
  if (!row->is_information && isfinite(row->margin)) {
    tally->missed += row->margin < 0.0 ? 1 : 0;
    tally->kept += row->margin < 0.0 ? 0 : 1;
    keep_nearer(&tally->worst, row);
    return;
  }
  tally->information += row->is_information ? 1 : 0;
  tally->unassessed += row->is_information ? 0 : 1;
  if (isfinite(row->margin)) {
    keep_nearer(&tally->told, row);
    return;
  }
  if (tally->least == NULL || row->result < tally->least->result) {
    tally->least = row;
  }
  if (tally->greatest == NULL || row->result > tally->greatest->result) {
    tally->greatest = row;
  }
}

/* families of one title share a part */
static bool is_first_of_title(size_t family) {
  for (size_t i = 0; i < family; i++) {
    if (strcmp(bw_assess_family_at(i)->title, bw_assess_family_at(family)->title) == 0) {
      return false;
    }
  }
  return true;
}

static struct bw_assess_entry *entry_of(struct bw_assess_entry *entries, size_t count,
                                        const char *title,
                                        const struct bw_requirement *requirement) {
  for (size_t i = 0; i < count; i++) {
    if (entries[i].requirement == requirement && strcmp(entries[i].title, title) == 0) {
      return &entries[i];
    }
  }
  return NULL;
}

struct bw_assess_entry *bw_assess_entries(const struct bw_assessment *assessment, size_t *count) {
  struct bw_assess_entry *entries = bw_alloc(assessment->count + 1, sizeof *entries);
  *count = 0;
  if (entries == NULL) {
    return NULL;
  }
  for (size_t i = 0; bw_assess_family_at(i) != NULL; i++) {
    const char *title = bw_assess_family_at(i)->title;
    for (size_t k = 0; is_first_of_title(i) && k < assessment->count; k++) {
      const struct bw_assess_row *row = &assessment->rows[k];
      if (row->family == NULL || strcmp(row->family->title, title) != 0) {
        continue;
      }
      struct bw_assess_entry *entry = entry_of(entries, *count, title, row->requirement);
      if (entry == NULL) {
        entry = &entries[(*count)++];
        *entry = (struct bw_assess_entry){.title = title, .requirement = row->requirement};
      }
      bw_assess_tally_add(&entry->tally, row);
    }
  }
  return entries;
}

/* least room first; rows of equal room as they come */
static int by_room(const void *a, const void *b) {
  const struct bw_assess_near *left = a;
  const struct bw_assess_near *right = b;
  const double x = bw_assess_room(left->row);
  const double y = bw_assess_room(right->row);
  if (x < y || x > y) {
    return x < y ? -1 : 1;
  }
  return left->row < right->row ? -1 : 1;
}

static bool is_of(const struct bw_assess_row *row, bool is_missed) {
  return !row->is_information && isfinite(row->margin) && (row->margin < 0.0) == is_missed;
}

/* rows of a strategy stand together */
static void count_strategies(const struct bw_assessment *assessment, bool is_missed,
                             struct bw_assess_near *near) {
  const struct bw_assess_row *last = NULL;
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_assess_row *row = &assessment->rows[i];
    if (row->requirement == near->row->requirement && is_of(row, is_missed)) {
      near->strategies += last == NULL || last->strategy != row->strategy ? 1 : 0;
      last = row;
    }
  }
}

struct bw_assess_near *bw_assess_nearest(const struct bw_assessment *assessment, bool is_missed,
                                         size_t *count) {
  struct bw_assess_near *nearest = bw_alloc(assessment->count + 1, sizeof *nearest);
  *count = 0;
  if (nearest == NULL) {
    return NULL;
  }
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_assess_row *row = &assessment->rows[i];
    if (!is_of(row, is_missed)) {
      continue;
    }
    size_t k = 0;
    while (k < *count && nearest[k].row->requirement != row->requirement) {
      k++;
    }
    if (k == *count) {
      nearest[(*count)++] = (struct bw_assess_near){.row = row};
    } else {
      keep_nearer(&nearest[k].row, row);
    }
  }
  qsort(nearest, *count, sizeof *nearest, by_room);
  for (size_t k = 0; k < *count; k++) {
    count_strategies(assessment, is_missed, &nearest[k]);
  }
  return nearest;
}
