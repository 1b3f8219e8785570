/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_response.h"

#include "batch/assess_stops.h"
#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>

static const double STOP_TIME = 60.0;  /* s */
static const double NEGLIGIBLE = 0.01; /* of the car's brake torque: an axle that hardly brakes */
static const double FULLY_FROM = 0.8;  /* of the speed, mean fully developed deceleration */
static const double FULLY_TO = 0.1;
static const double CLOSE = 1.05; /* of the prescribed deceleration, chosen here */

static const struct bw_requirement RESPONSE[] = {
    {"response_axle", BW_FIGURE_TIME, 0.6, "UN R13-H", "Annex 3 3.1", BW_CERTAINTY_QUOTED},
    {"response_car", BW_FIGURE_TIME, 0.6, "UN R13-H", "Annex 3 3.1", BW_CERTAINTY_QUOTED}};
static const struct bw_requirement TRIP[] = {
    {"trip_distance", BW_FIGURE_DISTANCE, 0.0158, "UN R13-H", "Annex 3 2.2", BW_CERTAINTY_QUOTED},
    {"trip_mfdd", BW_FIGURE_DECELERATION, 2.44, "UN R13-H", "Annex 3 2.2", BW_CERTAINTY_MEMORY},
    {"trip_added_distance", BW_FIGURE_LENGTH, (double)NAN, "none", "against the sound car",
     BW_CERTAINTY_NONE}};

enum { HISTORY = 2048 };

/* torques of the first periods of a stop and their means later on */
struct rise {
  double speed; /* m/s at the start */
  size_t n;
  double end[HISTORY];       /* s, end of the period */
  double torque[2][HISTORY]; /* N m, mean of the period */
  double way;                /* m between 0.8 and 0.1 of the speed */
  double work[2];            /* N m times m over it */
};

static bool look(const struct bw_case *loaded, void *state, const struct bw_sample *sample) {
  struct rise *rise = state;
  (void)loaded;
  const double speed = sample->speed_start;
  const bool is_developed = speed <= FULLY_FROM * rise->speed && speed >= FULLY_TO * rise->speed;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    const double torque = fmax(axle->machine_torque, 0.0) + axle->friction_torque;
    if (rise->n < HISTORY) {
      rise->torque[i][rise->n] = torque;
      rise->end[rise->n] = sample->time + sample->duration;
    }
    rise->work[i] += is_developed ? torque * sample->distance : 0.0;
  }
  rise->n += rise->n < HISTORY ? 1 : 0;
  rise->way += is_developed ? sample->distance : 0.0;
  return speed >= FULLY_TO * rise->speed;
}

/* s; the period in which the mean torque has reached what is prescribed counts to its end */
static double time_to(const struct rise *rise, const double weight[2], double torque) {
  for (size_t k = 0; k < rise->n; k++) {
    if (weight[0] * rise->torque[0][k] + weight[1] * rise->torque[1][k] >= torque) {
      return rise->end[k];
    }
  }
  return (double)NAN;
}

/* s at the slower axle, NaN when it is not reached within what was noted */
static double slower_axle(const struct rise *rise, double share) {
  const double total = rise->work[0] + rise->work[1];
  double worst = 0.0;
  for (int i = 0; i < 2; i++) {
    if (!(rise->work[i] > NEGLIGIBLE * total)) {
      continue;
    }
    const double weight[2] = {i == 0 ? 1.0 : 0.0, i == 0 ? 0.0 : 1.0};
    const double time = time_to(rise, weight, share * rise->work[i] / rise->way);
    worst = isfinite(time) && isfinite(worst) ? fmax(worst, time) : (double)NAN;
  }
  return worst;
}

static double whole_car(const struct rise *rise, double share) {
  const double weight[2] = {1.0, 1.0};
  return time_to(rise, weight, share * (rise->work[0] + rise->work[1]) / rise->way);
}

static enum bw_status watch_stop(const struct bw_assess_job *job, const struct bw_assess_row *cold,
                                 struct rise *rise, struct bw_diag *diag) {
  struct bw_case *copy = bw_assess_case(job->loaded, cold->load, cold->charge);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the response time");
  }
  enum bw_status status =
      bw_assess_case_stop(copy, BW_REQUIREMENT_SPEED, cold->demand, BW_STOP_BUILD, STOP_TIME, diag);
  if (status == BW_OK) {
    const struct bw_watch watch = {rise, sizeof *rise, copy, look};
    status = bw_watch_run(job, &watch, diag);
  }
  bw_assess_case_free(copy);
  return status;
}

/* all but the last percents are there early; the rest comes as the pads warm */
static bool is_close(const struct bw_assess_row *cold) {
  const double prescribed = bw_requirement_at(BW_REQUIREMENT_COLD_DECELERATION)->limit;
  return cold != NULL && cold->result < CLOSE * prescribed;
}

static enum bw_status watch_response(const struct bw_assess_job *job,
                                     const struct bw_assess_row *cold, struct bw_assess_row *row,
                                     double result[2], struct bw_diag *diag) {
  const double prescribed = bw_requirement_at(BW_REQUIREMENT_COLD_DECELERATION)->limit;
  struct bw_diag own = {0};
  struct rise rise = {.speed = BW_REQUIREMENT_SPEED};
  const enum bw_status status = watch_stop(job, cold, &rise, &own);
  if (bw_assess_is_fatal(status)) {
    return bw_fail(diag, status, "assessment of the response stopped: %.300s",
                   bw_diag_text(&own, status));
  }
  if (status != BW_OK) {
    bw_assess_note(row, status, &own);
    return BW_OK;
  }
  result[0] = slower_axle(&rise, prescribed / cold->result);
  result[1] = whole_car(&rise, prescribed / cold->result);
  if (!(isfinite(result[0]) && isfinite(result[1]))) {
    (void)snprintf(row->note, sizeof row->note, "an axle does not reach its part in %.1f s",
                   rise.n > 0 ? rise.end[rise.n - 1] : 0.0);
  } else if (is_close(cold)) {
    (void)snprintf(row->note, sizeof row->note,
                   "told only: the stop is within 5 %% of the prescribed %.2f m/s2, so pads that "
                   "warm decide, not the way of the pressure",
                   prescribed);
  }
  return BW_OK;
}

/* s of axle and car in the cold stop, NaN where there is none; the row's note says why */
static enum bw_status find_response(const struct bw_assess_job *job,
                                    const struct bw_assess_row *cold, struct bw_assess_row *row,
                                    double result[2], struct bw_diag *diag) {
  const double prescribed = bw_requirement_at(BW_REQUIREMENT_COLD_DECELERATION)->limit;
  result[0] = result[1] = (double)NAN;
  if (cold == NULL || !isfinite(cold->demand)) {
    (void)snprintf(row->note, sizeof row->note, "there is no cold stop to take the pedal from");
  } else if (!(cold->result >= prescribed)) {
    (void)snprintf(row->note, sizeof row->note,
                   "the prescribed %.2f m/s2 are not reached: %.2f m/s2", prescribed, cold->result);
  } else {
    return watch_response(job, cold, row, result, diag);
  }
  return BW_OK;
}

static enum bw_status add_response(const struct bw_assess_job *job,
                                   const struct bw_assess_row *cold, struct bw_assess_row *row,
                                   struct bw_assessment *out, struct bw_diag *diag) {
  double result[2];
  BW_TRY(find_response(job, cold, row, result, diag));
  for (int i = 0; i < 2; i++) {
    row->requirement = &RESPONSE[i];
    row->limit = RESPONSE[i].limit;
    row->result = result[i];
    /* with regeneration force moves between the axles as the car slows, so an axle's own part is
     * none that the rule prescribes: it counts with the machines' guaranteed minimum */
    row->is_information = is_close(cold) || (i == 0 && row->charge != BW_STOP_CHARGE_FULL);
    BW_TRY(bw_assessment_add(out, row, diag));
  }
  row->is_information = false;
  return BW_OK;
}

static enum bw_status stop_with_trip(const struct bw_assess_job *job,
                                     const struct bw_assess_row *cold, struct bw_stop_found *found,
                                     struct bw_diag *diag) {
  struct bw_case *copy = bw_assess_case(job->loaded, cold->load, cold->charge);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a stop with a fault");
  }
  copy->fault = (struct bw_fault){.kind = BW_FAULT_MACHINE_TRIP,
                                  .axle = BW_FAULT_BOTH_AXLES,
                                  .start = BW_RESPONSE_TRIP,
                                  .duration = STOP_TIME,
                                  .detection = job->loaded->fault.detection};
  enum bw_status status =
      bw_assess_case_stop(copy, BW_REQUIREMENT_SPEED, cold->demand, BW_STOP_BUILD, STOP_TIME, diag);
  if (status == BW_OK) {
    status = bw_assess_stop(job, copy, found, diag);
  }
  bw_assess_case_free(copy);
  return status;
}

static enum bw_status add_trip(const struct bw_assess_job *job, const struct bw_assess_row *cold,
                               double sound_distance, struct bw_assess_row *row,
                               struct bw_assessment *out, struct bw_diag *diag) {
  struct bw_stop_found found = {0};
  const double none = (double)NAN;
  row->failure = BW_STOP_REGENERATION;
  (void)snprintf(row->condition, sizeof row->condition, "machines trip at %.0f s",
                 BW_RESPONSE_TRIP);
  if (!job->loaded->machine[BW_FRONT].is_fitted && !job->loaded->machine[BW_REAR].is_fitted) {
    (void)snprintf(row->note, sizeof row->note, "there is no machine that could fail");
  } else if (cold == NULL || !isfinite(cold->demand)) {
    (void)snprintf(row->note, sizeof row->note, "there is no cold stop to take the pedal from");
  } else {
    struct bw_diag own = {0};
    const enum bw_status status = stop_with_trip(job, cold, &found, &own);
    if (bw_assess_is_fatal(status)) {
      return bw_fail(diag, status, "assessment of a fault stopped: %.300s",
                     bw_diag_text(&own, status));
    }
    if (status != BW_OK) {
      bw_assess_note(row, status, &own);
    } else if (!found.is_at_rest) {
      (void)snprintf(row->note, sizeof row->note, "the car does not come to rest in %.0f s",
                     STOP_TIME);
    }
  }
  const double result[] = {found.is_at_rest ? found.distance : none,
                           found.is_at_rest ? found.mfdd : none,
                           found.is_at_rest ? found.distance - sound_distance : none};
  for (size_t i = 0; i < sizeof TRIP / sizeof *TRIP; i++) {
    row->requirement = &TRIP[i];
    row->limit = bw_requirement_limit(&TRIP[i], row->speed);
    row->result = result[i];
    row->is_information = !isfinite(TRIP[i].limit);
    BW_TRY(bw_assessment_add(out, row, diag));
  }
  return BW_OK;
}

static enum bw_status add_setting(const struct bw_assess_job *job, enum bw_load_state load,
                                  enum bw_stop_charge charge, struct bw_assessment *out,
                                  struct bw_diag *diag) {
  struct bw_assess_row row = {.strategy = job->strategy,
                              .load = load,
                              .charge = charge,
                              .is_connected = true,
                              .speed = BW_REQUIREMENT_SPEED};
  const struct bw_assess_row *kept =
      bw_assess_row_of(out, job, BW_REQUIREMENT_COLD_DECELERATION, load, charge);
  const struct bw_assess_row *way =
      bw_assess_row_of(out, job, BW_REQUIREMENT_COLD_DISTANCE, load, charge);
  /* copies: the list moves as it grows */
  const struct bw_assess_row copy = kept != NULL ? *kept : row;
  const struct bw_assess_row *cold = kept != NULL ? &copy : NULL;
  const double distance = way != NULL ? way->result : (double)NAN;
  row.demand = cold != NULL ? cold->demand : (double)NAN;
  BW_TRY(add_response(job, cold, &row, out, diag));
  if (charge != BW_STOP_CHARGE_OWN) {
    return BW_OK;
  }
  row.note[0] = '\0';
  return add_trip(job, cold, distance, &row, out, diag);
}

static enum bw_status run(const struct bw_assess_job *job, struct bw_assessment *out,
                          struct bw_diag *diag) {
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    for (int charge = BW_STOP_CHARGE_FULL; charge <= BW_STOP_CHARGE_OWN; charge++) {
      BW_TRY(add_setting(job, (enum bw_load_state)load, (enum bw_stop_charge)charge, out, diag));
    }
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_RESPONSE = {
    .title = "Response and machines that trip",
    .is_per_strategy = true,
    .run = run,
    .notes =
        "Response: the pedal of the cold stop; the time ends with the control period in which "
        "the slower axle, or the whole car, has its part of 6.43 m/s2; an axle's time is judged "
        "with a full battery, since regeneration moves force between the axles; a stop that is "
        "within 5 % of the prescribed deceleration is told only. Machines that trip "
        "1 s into the cold "
        "stop: the pedal stays, the controller learns of it after fault.detection_s.",
};
