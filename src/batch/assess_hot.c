/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_fade.h"
#include "batch/assess_stops.h"
#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>

/** The stop behind repeated braking or a descent. */

static const double STOP_TIME = 60.0; /* s */

#define HOT_SOURCE "UN R13-H", "Annex 3 1.5.2", BW_CERTAINTY_MEMORY

/* 0.0080: 75 % of the prescribed performance; 60 % of the cold result */
static const struct bw_requirement HOT[] = {
    {"hot_stop_distance", BW_FIGURE_DISTANCE, 0.0080, HOT_SOURCE},
    {"hot_stop_mfdd", BW_FIGURE_DECELERATION, 4.82, HOT_SOURCE},
    {"hot_stop_of_cold", BW_FIGURE_SHARE_LEAST, 0.60, HOT_SOURCE}};
enum { HOTS = sizeof HOT / sizeof *HOT };

static enum bw_status stop_hot(const struct bw_assess_job *job, const struct bw_warmth *warmth,
                               const struct bw_assess_row *cold, struct bw_stop_found *found,
                               struct bw_diag *diag) {
  struct bw_case *copy = bw_assess_case(job->loaded, cold->load, cold->charge);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a hot stop");
  }
  bw_warmth_give(warmth, copy);
  enum bw_status status =
      bw_assess_case_stop(copy, BW_REQUIREMENT_SPEED, cold->demand, BW_STOP_BUILD, STOP_TIME, diag);
  if (status == BW_OK) {
    status = bw_assess_stop(job, copy, found, diag);
  }
  bw_assess_case_free(copy);
  return status;
}

static void note_stop(const struct bw_assess_job *job, const struct bw_stop_found *found,
                      struct bw_assess_row *row) {
  if (!found->is_at_rest) {
    (void)snprintf(row->note, sizeof row->note, "the hot car does not come to rest in %.0f s",
                   STOP_TIME);
  } else if (found->grip_exceeded > job->loaded->assess.balance_violation_time) {
    (void)snprintf(row->note, sizeof row->note,
                   "hot brakes ask for more grip than there is for %.2f s: antilock brakes would "
                   "hold them back to the cold result",
                   found->grip_exceeded);
  }
}

enum bw_status bw_assess_hot_stop(const struct bw_assess_job *job, const struct bw_assess_row *row,
                                  const struct bw_warmth *warmth, struct bw_assessment *out,
                                  struct bw_diag *diag) {
  struct bw_assess_row hot = *row;
  struct bw_stop_found found = {0};
  const struct bw_assess_row *cold =
      bw_assess_row_of(out, job, BW_REQUIREMENT_COLD_DECELERATION, row->load, row->charge);
  const double cold_mfdd = cold != NULL ? cold->result : (double)NAN;
  hot.speed = BW_REQUIREMENT_SPEED;
  hot.demand = cold != NULL ? cold->demand : (double)NAN;
  const bool is_open = hot.note[0] == '\0';
  if (is_open && (cold == NULL || !isfinite(cold->demand))) {
    (void)snprintf(hot.note, sizeof hot.note, "there is no cold stop to take the pedal from");
  } else if (is_open) {
    struct bw_diag own = {0};
    const enum bw_status status = stop_hot(job, warmth, cold, &found, &own);
    if (bw_assess_is_fatal(status)) {
      return bw_fail(diag, status, "assessment of a hot stop ended: %.300s",
                     bw_diag_text(&own, status));
    }
    if (status != BW_OK) {
      bw_assess_note(&hot, status, &own);
    } else {
      note_stop(job, &found, &hot);
    }
  }
  const double none = (double)NAN;
  const double result[HOTS] = {found.is_at_rest ? found.distance : none,
                               found.is_at_rest ? found.mfdd : none,
                               found.is_at_rest ? found.mfdd / cold_mfdd : none};
  for (size_t i = 0; i < HOTS; i++) {
    hot.requirement = &HOT[i];
    hot.limit = bw_requirement_limit(&HOT[i], hot.speed);
    hot.result = result[i];
    BW_TRY(bw_assessment_add(out, &hot, diag));
  }
  return BW_OK;
}
