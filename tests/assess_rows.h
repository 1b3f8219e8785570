/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_ROWS_H
#define BW_ASSESS_ROWS_H

#include "batch/assess.h"
#include "check.h"

#include <string.h>

/** Rows of one family for one car and strategy; frees nothing of them. Fails the test when the
 *  family fails. */
static inline struct bw_assessment rows_of(const struct bw_case *made,
                                           const struct bw_assess_family *family,
                                           const struct bw_blend_strategy *strategy) {
  struct bw_assessment found = {0};
  const struct bw_assess_job job = {.loaded = made, .strategy = strategy};
  assert_int_equal(family->run(&job, &found, NULL), BW_OK);
  return found;
}

/** The first row of requirement `name` whose condition holds `condition`; fails the test when there
 *  is none. */
static inline const struct bw_assess_row *row_of(const struct bw_assessment *found,
                                                 const char *name, const char *condition) {
  for (size_t i = 0; i < found->count; i++) {
    if (strcmp(found->rows[i].requirement->name, name) == 0 &&
        strstr(found->rows[i].condition, condition) != NULL) {
      return &found->rows[i];
    }
  }
  fail_msg("no row %s, %s", name, condition);
  return found->rows;
}

#endif
