/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess.h"

#include "alloc.h"
#include "batch/assess_balance.h"
#include "batch/assess_cycle.h"
#include "batch/assess_descent.h"
#include "batch/assess_fade.h"
#include "batch/assess_lamp.h"
#include "batch/assess_park.h"
#include "batch/assess_phasing.h"
#include "batch/assess_response.h"
#include "batch/assess_stops.h"

#include <math.h>

static const struct bw_assess_family *const FAMILIES[] = {
    &BW_ASSESS_STOPS,    &BW_ASSESS_BALANCE,  &BW_ASSESS_LAMP_TRACE, &BW_ASSESS_PHASING,
    &BW_ASSESS_LIFT_OFF, &BW_ASSESS_LAMP_CAR, &BW_ASSESS_RESPONSE,   &BW_ASSESS_PARK,
    &BW_ASSESS_FADE,     &BW_ASSESS_DESCENT,  &BW_ASSESS_CYCLE,
};

const struct bw_assess_family *bw_assess_family_at(size_t index) {
  return index < sizeof FAMILIES / sizeof FAMILIES[0] ? FAMILIES[index] : NULL;
}

enum bw_status bw_assess_run(const struct bw_assess_job *job, struct bw_assessment *out,
                             struct bw_diag *diag) {
  const bool is_strategy = job->strategy != NULL;
  for (size_t i = 0; bw_assess_family_at(i) != NULL; i++) {
    const struct bw_assess_family *family = bw_assess_family_at(i);
    if (family->is_per_strategy == is_strategy) {
      size_t row = out->count;
      BW_TRY(family->run(job, out, diag));
      for (; row < out->count; row++) {
        out->rows[row].family = family;
      }
    }
  }
  return BW_OK;
}

enum bw_status bw_assessment_add(struct bw_assessment *assessment, const struct bw_assess_row *row,
                                 struct bw_diag *diag) {
  if (assessment->count == assessment->room) {
    const size_t room = assessment->room == 0 ? 64 : 2 * assessment->room;
    struct bw_assess_row *grown = bw_realloc(assessment->rows, room, sizeof *grown);
    if (grown == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "out of memory for the assessment");
    }
    assessment->rows = grown;
    assessment->room = room;
  }
  struct bw_assess_row *added = &assessment->rows[assessment->count++];
  *added = *row;
  added->margin = bw_requirement_margin(added->requirement, added->limit, added->result);
  return BW_OK;
}

size_t bw_assessment_missed(const struct bw_assessment *assessment) {
  size_t missed = 0;
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_assess_row *row = &assessment->rows[i];
    missed += !row->is_information && row->margin < 0.0 ? 1 : 0;
  }
  return missed;
}

size_t bw_assessment_judged(const struct bw_assessment *assessment,
                            const struct bw_blend_strategy *strategy) {
  size_t judged = 0;
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_assess_row *row = &assessment->rows[i];
    judged += row->strategy == strategy && isfinite(row->result) ? 1 : 0;
  }
  return judged;
}

void bw_assessment_free(struct bw_assessment *assessment) {
  bw_free(assessment->rows);
  bw_free(assessment->curves);
  bw_free(assessment->descents);
  *assessment = (struct bw_assessment){0};
}
