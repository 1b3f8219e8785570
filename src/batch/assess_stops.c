/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_stops.h"

#include "batch/watch_run.h"
#include "extrema.h"

#include <math.h>
#include <stdio.h>

static const double KMH = 1.0 / 3.6;
static const double DEMAND_MOST = 20.0; /* m/s2, more than any road gives */
static const double STOP_TIME = 60.0;   /* s, a stop of 160 km/h at 0.75 m/s2 */
enum { HALVINGS = 10 };
/* speeds that are tried as the top speed: from 400 km/h down */
static const double TOP_STEP_KMH = 0.5;
enum { TOP_STEPS = 800 };

double bw_assess_top_speed(const struct bw_case *loaded) {
  const double radius = loaded->vehicle.tyre_radius;
  for (int step = TOP_STEPS; step > 1; step--) {
    const double speed = step * TOP_STEP_KMH * KMH;
    double power = 0.0;
    for (int i = 0; i < BW_AXLES; i++) {
      const struct bw_machine *machine = &loaded->machine[i];
      if (machine->is_fitted && speed * machine->ratio <= machine->omega_max * radius) {
        power += machine->power_peak * machine->efficiency;
      }
    }
    if (power > 0.0 && power >= bw_vehicle_road_load(&loaded->vehicle, speed) * speed) {
      return speed;
    }
  }
  return 0.0;
}

static void fail_circuit(struct bw_case *stop, enum bw_stop_failure failure) {
  struct bw_friction *axle = stop->brakes.axle;
  switch (failure) {
  case BW_STOP_CIRCUIT_FRONT:
    axle[BW_FRONT].pad_scale = 0.0;
    break;
  case BW_STOP_CIRCUIT_REAR:
    axle[BW_REAR].pad_scale = 0.0;
    break;
  case BW_STOP_CIRCUIT_DIAGONAL:
    /* the one wheel left has half of the axle's load */
    axle[BW_FRONT].pad_scale *= 0.5;
    axle[BW_REAR].pad_scale *= 0.5;
    stop->vehicle.adhesion *= 0.5;
    break;
  case BW_STOP_BOOSTER:
    for (int i = 0; i < BW_AXLES; i++) {
      axle[i].pressure_max = bw_min(axle[i].pressure_max, stop->assess_data.booster_fallback);
    }
    break;
  case BW_STOP_SOUND:
  case BW_STOP_REGENERATION:
    break;
  }
}

/* NULL without memory */
static struct bw_case *case_of(const struct bw_case *loaded, const struct bw_assess_row *row) {
  struct bw_case *stop = bw_assess_case(loaded, row->load, row->charge);
  if (stop == NULL) {
    return NULL;
  }
  if (row->charge == BW_STOP_CHARGE_NONE) {
    stop->fault = (struct bw_fault){
        .kind = BW_FAULT_CHARGE_LIMIT, .duration = STOP_TIME, .charge_share = 1.0};
  }
  if (!row->is_connected) {
    stop->machine[BW_FRONT].is_fitted = false;
    stop->machine[BW_REAR].is_fitted = false;
  }
  fail_circuit(stop, row->failure);
  return stop;
}

static enum bw_status run_stop(const struct bw_assess_job *job, const struct bw_assess_row *row,
                               double demand, struct bw_stop_found *found, struct bw_diag *diag) {
  struct bw_case *stop = case_of(job->loaded, row);
  if (stop == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a stop");
  }
  enum bw_status status =
      bw_assess_case_stop(stop, row->speed, demand, BW_STOP_BUILD, STOP_TIME, diag);
  if (status == BW_OK) {
    status = bw_assess_stop(job, stop, found, diag);
  }
  bw_assess_case_free(stop);
  return status;
}

/* no axle asked for more than there is; loads follow the deceleration a control period late, so an
 * instant is no lock */
static bool has_grip(const struct bw_assess_job *job, const struct bw_stop_found *found) {
  return found->is_at_rest && found->grip_exceeded <= job->loaded->assess.balance_violation_time;
}

/* a run of a built-in strategy that fails is no stop, and *own, empty otherwise, says why; a loaded
 * controller's trouble is told at once, for it may take its whole deadline each time */
static enum bw_status try_stop(const struct bw_assess_job *job, const struct bw_assess_row *row,
                               double demand, struct bw_stop_found *found, struct bw_diag *own) {
  *own = (struct bw_diag){0};
  *found = (struct bw_stop_found){0};
  const enum bw_status status = run_stop(job, row, demand, found, own);
  return job->plugin != NULL || bw_assess_is_fatal(status) ? status : BW_OK;
}

static void note_end(struct bw_assess_row *row, const struct bw_diag *failed) {
  if (failed->count > 0) {
    (void)snprintf(row->note, sizeof row->note, "ended by a harder stop that failed: %.110s",
                   bw_message_bare(failed->line[0]));
    return;
  }
  (void)snprintf(
      row->note, sizeof row->note,
      "ended by the grip of the first axle to lock; what antilock brakes would win beyond that "
      "is not counted");
}

/* the hardest stop with grip; row->demand stays NaN when none was found. *own, if not empty, says
 * why the gentlest run that was no stop failed */
static enum bw_status search(const struct bw_assess_job *job, struct bw_assess_row *row,
                             struct bw_stop_found *best, struct bw_diag *own) {
  struct bw_stop_found found;
  struct bw_diag failed;
  double low = 0.0;
  double high = DEMAND_MOST;
  BW_TRY(try_stop(job, row, high, &found, own));
  if (has_grip(job, &found)) {
    *best = found;
    row->demand = high;
    (void)snprintf(row->note, sizeof row->note, "ended by what the brakes can give");
    return BW_OK;
  }
  failed = *own;
  for (int i = 0; i < HALVINGS; i++) {
    const double middle = 0.5 * (low + high);
    BW_TRY(try_stop(job, row, middle, &found, own));
    if (has_grip(job, &found)) {
      low = row->demand = middle;
      *best = found;
    } else {
      high = middle;
      failed = *own;
    }
  }
  if (isfinite(row->demand)) {
    note_end(row, &failed);
  }
  *own = failed;
  return BW_OK;
}

static enum bw_status add_pair(const struct bw_assess_row *row, enum bw_requirement_id distance,
                               const struct bw_stop_found *found, struct bw_assessment *out,
                               struct bw_diag *diag) {
  for (int i = 0; i < 2; i++) {
    struct bw_assess_row added = *row;
    added.requirement = bw_requirement_at((enum bw_requirement_id)((int)distance + i));
    added.limit =
        added.speed > 0.0 ? bw_requirement_limit(added.requirement, added.speed) : (double)NAN;
    added.result = i == 0 ? found->distance : found->mfdd;
    BW_TRY(bw_assessment_add(out, &added, diag));
  }
  return BW_OK;
}

/* trouble of this stop alone becomes its note */
static enum bw_status assess_stop(const struct bw_assess_job *job, struct bw_assess_row *row,
                                  enum bw_requirement_id distance, struct bw_assessment *out,
                                  struct bw_diag *diag) {
  struct bw_stop_found best = {.distance = (double)NAN, .mfdd = (double)NAN};
  row->strategy = job->strategy;
  row->demand = (double)NAN;
  if (row->note[0] == '\0') {
    struct bw_diag own = {0};
    const enum bw_status status = search(job, row, &best, &own);
    if (bw_assess_is_fatal(status)) {
      return bw_fail(diag, status, "assessment stopped: %.300s", bw_diag_text(&own, status));
    }
    if (status != BW_OK) {
      best = (struct bw_stop_found){.distance = (double)NAN, .mfdd = (double)NAN};
      row->demand = (double)NAN;
      (void)snprintf(row->note, sizeof row->note, "%.150s", bw_diag_text(&own, status));
    } else if (!isfinite(row->demand)) {
      (void)snprintf(row->note, sizeof row->note, "%.150s",
                     own.count > 0 ? own.line[0] : "no stop to rest was found within grip");
    }
  }
  return add_pair(row, distance, &best, out, diag);
}

static void note_speed(const struct bw_case *loaded, struct bw_assess_row *row) {
  const double top = bw_assess_top_speed(loaded);
  row->speed = BW_REQUIREMENT_SPEED;
  if (top > 0.0 && top < row->speed) {
    (void)snprintf(row->note, sizeof row->note, "estimated top speed %.1f km/h is below 100 km/h",
                   top / KMH);
  }
}

static enum bw_status assess_sound(const struct bw_assess_job *job, enum bw_load_state load,
                                   struct bw_assessment *out, struct bw_diag *diag) {
  static const struct {
    enum bw_stop_charge charge;
    bool is_connected;
  } conditions[] = {{BW_STOP_CHARGE_FULL, true},
                    {BW_STOP_CHARGE_OWN, true},
                    {BW_STOP_CHARGE_NONE, true},
                    {BW_STOP_CHARGE_OWN, false}};
  for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++) {
    struct bw_assess_row row = {
        .load = load, .charge = conditions[i].charge, .is_connected = conditions[i].is_connected};
    note_speed(job->loaded, &row);
    BW_TRY(assess_stop(job, &row, BW_REQUIREMENT_COLD_DISTANCE, out, diag));
  }
  const double fast = bw_requirement_fast_speed(bw_assess_top_speed(job->loaded));
  for (size_t i = 0; i < 2; i++) {
    struct bw_assess_row row = {
        .load = load, .charge = conditions[i].charge, .is_connected = true, .speed = fast};
    if (!(fast > 0.0)) {
      (void)snprintf(row.note, sizeof row.note,
                     "asked for above a top speed of 125 km/h only; estimated top speed %.1f km/h",
                     bw_assess_top_speed(job->loaded) / KMH);
    }
    BW_TRY(assess_stop(job, &row, BW_REQUIREMENT_FAST_DISTANCE, out, diag));
  }
  return BW_OK;
}

static enum bw_status assess_failed(const struct bw_assess_job *job, enum bw_load_state load,
                                    struct bw_assessment *out, struct bw_diag *diag) {
  for (int i = BW_STOP_REGENERATION; i <= BW_STOP_BOOSTER; i++) {
    struct bw_assess_row row = {
        .load = load, .charge = BW_STOP_CHARGE_OWN, .failure = (enum bw_stop_failure)i};
    note_speed(job->loaded, &row);
    const bool is_booster = row.failure == BW_STOP_BOOSTER;
    if (is_booster && !(job->loaded->assess_data.booster_fallback > 0.0)) {
      (void)snprintf(row.note, sizeof row.note,
                     "the case has no data of the brakes without their booster; give "
                     "booster.fallback_bar");
    }
    BW_TRY(assess_stop(
        job, &row, is_booster ? BW_REQUIREMENT_BOOSTER_DISTANCE : BW_REQUIREMENT_RESIDUAL_DISTANCE,
        out, diag));
  }
  return BW_OK;
}

enum bw_status bw_assess_stops(const struct bw_assess_job *job, struct bw_assessment *out,
                               struct bw_diag *diag) {
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    BW_TRY(assess_sound(job, (enum bw_load_state)load, out, diag));
    BW_TRY(assess_failed(job, (enum bw_load_state)load, out, diag));
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_STOPS = {
    .title = "Stops, sound and with failures",
    .is_per_strategy = true,
    .run = bw_assess_stops,
    .notes =
        "Each stop is the hardest in which no axle asks for more grip than road.adhesion gives "
        "(assess.balance_violation_ms forgiven), on a level road; what antilock brakes would win "
        "beyond that is not counted. The demand rises within 0.2 s. Brakes start at the case's "
        "temperatures; pedal forces are not modelled. A regeneration failure and failed circuits "
        "are held against the secondary braking limits, machines not braking, the controller not "
        "told. Without its booster the brakes have no more pressure than booster.fallback_bar, "
        "which the driver's foot gives with 500 N. The top speed of the high-speed stop is "
        "estimated from machines and road load.",
};
