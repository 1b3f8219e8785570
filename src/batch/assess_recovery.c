/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_fade.h"

#include "assess/pad_heat.h"
#include "batch/assess_stops.h"
#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>

/** Recovery behind repeated braking: the brakes as they are after the hot stop, four gentle stops,
 *  then the cold stop's pedal again. */

static const double GENTLE_SPEED = 50.0 / 3.6;
static const double GENTLE = 3.0;     /* m/s2 of the car, mean */
static const double APART = 1500.0;   /* m from start to start */
static const double STOP_TIME = 60.0; /* s */
static const double BUILD = 0.5;      /* s; an ordinary application */
static const double AT_REST = 1e-6;   /* m/s; a run ends with exactly 0 */
enum { GENTLE_STOPS = 4 };

#define RECOVERY "UN R13-H", "Annex 3 1.5.3", BW_CERTAINTY_MEMORY
static const struct bw_requirement REQUIREMENT[] = {
    {"recovery_least", BW_FIGURE_SHARE_LEAST, 0.70, RECOVERY},
    {"recovery_most", BW_FIGURE_SHARE_MOST, 1.50, RECOVERY}};
enum { REQUIREMENTS = sizeof REQUIREMENT / sizeof *REQUIREMENT };

/* a stop as it warms what is warm */
struct heated {
  struct bw_pad_heat pads;
  struct bw_warmth end;
  double distance;
  double speed;
};

static bool look(const struct bw_case *loaded, void *state, const struct bw_sample *sample) {
  struct heated *heated = state;
  bw_pad_heat_watch(loaded, sample, &heated->pads);
  for (int i = 0; i < 2; i++) {
    heated->end.rotor[i] = sample->axle[i].rotor_temperature;
    heated->end.pad[i] = heated->pads.temperature[i];
    heated->end.machine[i] = sample->axle[i].machine_temperature;
  }
  heated->distance = sample->distance_start + sample->distance;
  heated->speed = sample->speed_end;
  return heated->speed > AT_REST;
}

/* run the copy's stop, starting as warm as *warmth, which it leaves warmer; *distance: its way */
static enum bw_status heat_by_stop(const struct bw_assess_job *job, struct bw_case *copy,
                                   struct bw_warmth *warmth, double *distance,
                                   struct bw_diag *diag) {
  bw_warmth_give(warmth, copy);
  struct heated heated = {.pads = bw_pad_heat_start(copy), .end = *warmth};
  for (int i = 0; i < 2; i++) {
    heated.pads.temperature[i] = heated.pads.peak[i] = warmth->pad[i];
  }
  const struct bw_watch watch = {&heated, sizeof heated, copy, look};
  BW_TRY(bw_watch_run(job, &watch, diag));
  if (!(heated.speed <= AT_REST)) {
    return bw_fail(diag, BW_E_LIMIT, "a stop before the recovered one does not come to rest");
  }
  *warmth = heated.end;
  *distance = heated.distance;
  return BW_OK;
}

/* back to `speed` as fast as the car can, then held until the next stop is due */
static void regain(const struct bw_case *copy, double speed, double stopped, double apart,
                   struct bw_warmth *warmth) {
  const double drive = bw_assess_drive_time(copy, 0.0, speed);
  const double held = fmax(0.0, apart - stopped - 0.5 * speed * drive) / speed;
  bw_warmth_cool(copy, 0.0, speed, drive, warmth);
  bw_warmth_cool(copy, speed, speed, held, warmth);
}

static enum bw_status recover(const struct bw_assess_job *job, struct bw_case *copy, double demand,
                              struct bw_warmth *warmth, struct bw_stop_found *found,
                              struct bw_diag *diag) {
  double distance = 0.0;
  BW_TRY(bw_assess_case_stop(copy, BW_REQUIREMENT_SPEED, demand, BW_STOP_BUILD, STOP_TIME, diag));
  BW_TRY(heat_by_stop(job, copy, warmth, &distance, diag)); /* the hot stop */
  BW_TRY(bw_assess_case_stop(copy, GENTLE_SPEED, GENTLE, BUILD, STOP_TIME, diag));
  copy->driver.decel_means = BW_DECEL_VEHICLE;
  for (int i = 0; i < GENTLE_STOPS; i++) {
    /* the first follows the hot stop at once */
    regain(copy, GENTLE_SPEED, distance, i > 0 ? APART : 0.0, warmth);
    BW_TRY(heat_by_stop(job, copy, warmth, &distance, diag));
  }
  regain(copy, BW_REQUIREMENT_SPEED, distance, 0.0, warmth);
  bw_warmth_give(warmth, copy);
  BW_TRY(bw_assess_case_stop(copy, BW_REQUIREMENT_SPEED, demand, BW_STOP_BUILD, STOP_TIME, diag));
  return bw_assess_stop(job, copy, found, diag);
}

static enum bw_status run_recovery(const struct bw_assess_job *job, const struct bw_warmth *warmth,
                                   const struct bw_assess_row *cold, struct bw_stop_found *found,
                                   struct bw_diag *diag) {
  struct bw_case *copy = bw_assess_case(job->loaded, cold->load, cold->charge);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a recovered stop");
  }
  struct bw_warmth now = *warmth;
  enum bw_status status = BW_OK;
  if (isfinite(bw_assess_drive_time(copy, 0.0, BW_REQUIREMENT_SPEED))) {
    status = recover(job, copy, cold->demand, &now, found, diag);
  } else {
    status = bw_fail(diag, BW_E_LIMIT, "the machines cannot regain 100 km/h");
  }
  bw_assess_case_free(copy);
  return status;
}

enum bw_status bw_assess_recovery(const struct bw_assess_job *job, const struct bw_assess_row *row,
                                  const struct bw_warmth *warmth, struct bw_assessment *out,
                                  struct bw_diag *diag) {
  struct bw_assess_row added = *row;
  struct bw_stop_found found = {0};
  const struct bw_assess_row *cold =
      bw_assess_row_of(out, job, BW_REQUIREMENT_COLD_DECELERATION, row->load, row->charge);
  const double cold_mfdd = cold != NULL ? cold->result : (double)NAN;
  added.speed = BW_REQUIREMENT_SPEED;
  added.demand = cold != NULL ? cold->demand : (double)NAN;
  const bool is_open = added.note[0] == '\0';
  if (is_open && (cold == NULL || !isfinite(cold->demand))) {
    (void)snprintf(added.note, sizeof added.note, "there is no cold stop to take the pedal from");
  } else if (is_open) {
    struct bw_diag own = {0};
    const enum bw_status status = run_recovery(job, warmth, cold, &found, &own);
    if (bw_assess_is_fatal(status)) {
      return bw_fail(diag, status, "assessment of recovery ended: %.300s",
                     bw_diag_text(&own, status));
    }
    if (status != BW_OK) {
      found.is_at_rest = false;
      bw_assess_note(&added, status, &own);
    } else if (!found.is_at_rest) {
      (void)snprintf(added.note, sizeof added.note, "the car does not come to rest in %.0f s",
                     STOP_TIME);
    }
  }
  for (size_t i = 0; i < REQUIREMENTS; i++) {
    added.requirement = &REQUIREMENT[i];
    added.limit = REQUIREMENT[i].limit;
    added.result = found.is_at_rest ? found.mfdd / cold_mfdd : (double)NAN;
    BW_TRY(bw_assessment_add(out, &added, diag));
  }
  return BW_OK;
}
