/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_phasing.h"

#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>

static const double START = 80.0 / 3.6; /* m/s */
static const double BUILD = 0.2;        /* s, of the demand */
static const double LOST = 3.0;         /* s, the limit falls */
static const double BACK = 5.0;         /* s, the limit is back; at 43 km/h by then */
static const double SETTLED = 7.0;      /* s, the return is over; at 29 km/h */
static const double DURATION = 60.0;    /* s, longer than the stop */
static const double AT_REST = 0.3;      /* m/s: below, the car is being stopped, not braked */
static const double LEAST_SHARE = 0.05; /* of the demand by machines: less is no regeneration */

enum change { BY_SPEED, TAKEN_AWAY, GIVEN_BACK, CHANGES };

static const struct bw_requirement TIME = {"compensation_time",
                                           BW_FIGURE_TIME,
                                           0.0,
                                           "UN R13-H, no time in it",
                                           "5.2.7; 0.6 s as in Annex 3 3.1",
                                           BW_CERTAINTY_OWN};
static const struct bw_requirement DEVIATION = {
    "compensation_dip", BW_FIGURE_DECELERATION_MOST, 0.0, "assess.felt_line_g", "no rule found",
    BW_CERTAINTY_OWN};

/* plain bytes: travels between processes */
struct phasing {
  double from; /* s, the change */
  double until;
  double felt;       /* m/s2 */
  double per_torque; /* 1/(kg m), torque to deceleration */
  double before;     /* N m of the machines just before the change */
  double within;     /* N m, the most after it */
  double spell;      /* s */
  double longest;    /* s */
  double peak;       /* m/s2 */
  double demand;     /* N m */
};

static void look_at_steps(struct phasing *state, const struct bw_sample *sample) {
  for (size_t k = 0; k < sample->substeps; k++) {
    const double strayed = fabs(sample->demand - sample->delivered[k]) * state->per_torque;
    state->peak = fmax(state->peak, strayed);
    state->spell = strayed > state->felt ? state->spell + sample->substep : 0.0;
    state->longest = fmax(state->longest, state->spell);
  }
}

static bool look(const struct bw_case *loaded, void *context, const struct bw_sample *sample) {
  (void)loaded;
  struct phasing *state = context;
  const double end = sample->time + sample->duration;
  /* a tick's start may be a rounding error off */
  const double early = 0.5 * sample->duration;
  const double machine = sample->axle[0].machine_torque + sample->axle[1].machine_torque;
  const bool is_after = sample->time >= state->from - early;
  if (!is_after && sample->time > BUILD) {
    state->before = machine;
  }
  if (is_after && sample->speed_end > AT_REST) {
    state->demand = sample->demand;
    state->within = fmax(state->within, machine);
    look_at_steps(state, sample);
  }
  return end < state->until;
}

/* the stop and its window of each change */
static void set_change(enum change change, struct bw_case *copy, struct phasing *state) {
  copy->fault = (struct bw_fault){.kind = BW_FAULT_NONE};
  state->from = LOST;
  state->until = BACK;
  if (change == BY_SPEED) {
    state->from = SETTLED;
    state->until = DURATION;
    return;
  }
  if (change == GIVEN_BACK) {
    state->from = BACK;
    state->until = SETTLED;
  }
  copy->fault.kind = BW_FAULT_CHARGE_LIMIT;
  copy->fault.start = LOST;
  copy->fault.duration = BACK - LOST;
  copy->fault.charge_share = 1.0;
}

static enum bw_status add_pair(const struct bw_case *loaded, const struct phasing *found,
                               struct bw_assess_row *row, struct bw_assessment *out,
                               struct bw_diag *diag) {
  row->requirement = &TIME;
  row->limit = loaded->assess.compensation_time;
  row->result = found != NULL ? found->longest : (double)NAN;
  BW_TRY(bw_assessment_add(out, row, diag));
  row->requirement = &DEVIATION;
  row->limit = loaded->assess.felt_deceleration;
  row->result = found != NULL ? found->peak : (double)NAN;
  row->is_information = true;
  return bw_assessment_add(out, row, diag);
}

static enum bw_status run_change(const struct bw_assess_job *job, enum change change,
                                 struct bw_case *copy, struct phasing *state,
                                 struct bw_diag *diag) {
  BW_TRY(bw_assess_case_stop(copy, START, BW_PHASING_DEMAND, BUILD, DURATION, diag));
  set_change(change, copy, state);
  state->felt = copy->assess.felt_deceleration;
  state->per_torque = 1.0 / (copy->vehicle.tyre_radius * bw_case_effective_mass(copy));
  const struct bw_watch watch = {state, sizeof *state, copy, look};
  return bw_watch_run(job, &watch, diag);
}

static enum bw_status assess_change(const struct bw_assess_job *job, enum bw_load_state load,
                                    enum change change, struct bw_assessment *out,
                                    struct bw_diag *diag) {
  static const char *const text[CHANGES] = {"runs out by speed", "limit falls", "limit returns"};
  struct bw_assess_row row = {.strategy = job->strategy,
                              .load = load,
                              .charge = BW_STOP_CHARGE_OWN,
                              .is_connected = true,
                              .speed = START,
                              .demand = BW_PHASING_DEMAND};
  (void)snprintf(row.condition, sizeof row.condition, "%s", text[change]);
  struct bw_case *copy = bw_assess_case(job->loaded, load, BW_STOP_CHARGE_OWN);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a stop");
  }
  struct phasing state = {0};
  struct bw_diag own = {0};
  const enum bw_status status = run_change(job, change, copy, &state, &own);
  bw_assess_case_free(copy);
  if (bw_assess_is_fatal(status)) {
    return bw_fail(diag, status, "assessment stopped: %.300s", bw_diag_text(&own, status));
  }
  if (status != BW_OK) {
    bw_assess_note(&row, status, &own);
    return add_pair(job->loaded, NULL, &row, out, diag);
  }
  /* regeneration that comes back is there after the change, else it must be there before */
  const double machine = change == GIVEN_BACK ? state.within : state.before;
  const bool had_regeneration = machine > LEAST_SHARE * state.demand;
  if (!had_regeneration) {
    (void)snprintf(row.note, sizeof row.note,
                   "the machines give nothing that would have to be made good");
    return add_pair(job->loaded, NULL, &row, out, diag);
  }
  return add_pair(job->loaded, &state, &row, out, diag);
}

static enum bw_status assess_phasing(const struct bw_assess_job *job, struct bw_assessment *out,
                                     struct bw_diag *diag) {
  const struct bw_case *loaded = job->loaded;
  const bool has_machine = (job->strategy->flags & BW_BLEND_WITHOUT_MACHINE) == 0 &&
                           (loaded->machine[0].is_fitted || loaded->machine[1].is_fitted);
  if (!has_machine) {
    struct bw_assess_row row = {.strategy = job->strategy,
                                .load = loaded->vehicle.load_state,
                                .charge = BW_STOP_CHARGE_OWN,
                                .demand = (double)NAN,
                                .condition = "any change",
                                .note = "no machine brakes, so no limit of it can change"};
    return add_pair(loaded, NULL, &row, out, diag);
  }
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    for (int change = 0; change < CHANGES; change++) {
      BW_TRY(assess_change(job, (enum bw_load_state)load, (enum change)change, out, diag));
    }
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_PHASING = {
    .title = "Compensation of changing regeneration",
    .is_per_strategy = true,
    .run = assess_phasing,
    .notes = "Compensation: a stop from 80 km/h at 2 m/s2 and own charge, in which regeneration "
             "runs out by speed below 29 km/h, or is taken away at once after 3 s (the battery "
             "takes nothing, the controller is told) and comes back 2 s later. Time is the longest "
             "spell in which delivered strays from demanded by more than assess.felt_line_g, "
             "deviation the most it strays. No rule with a time limit for this was found; "
             "assess.compensation_ms is 0.6 s unless the case says otherwise.",
};
