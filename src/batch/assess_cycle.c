/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_cycle.h"

#include "alloc.h"
#include "assess/cycle_energy.h"
#include "assess/drive_index.h"
#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>

static const double KILO = 1e3;
static const double KMH_PER_MPS = 3.6;
static const double PERCENT = 100.0;

#define TOLERANCE "EU 2017/1151", "Annex XXI Sub-Annex 6 2.6.8.3.1", BW_CERTAINTY_READ
#define INDEX     "EU 2017/1151", "Annex XXI Sub-Annex 7 7", BW_CERTAINTY_READ
#define SHARE     "UN GTR 24", "friction braking share", BW_CERTAINTY_MEMORY

/* of energies the procedure's figure stands in place of a limit */
enum {
  ENERGY,
  BRAKING,
  EXCURSIONS,
  LONGEST,
  OUTSIDE,
  ERROR,
  WORK_LEAST,
  WORK_MOST,
  SHARE_CAR,
  SHARE_FRONT,
  SHARE_REAR,
  FIGURES
};
static const struct bw_requirement FIGURE[FIGURES] = {
    [ENERGY] = {"cycle_energy", BW_FIGURE_ENERGY, (double)NAN, "EU 2017/1151",
                "Annex XXI Sub-Annex 7 5", BW_CERTAINTY_MEMORY},
    [BRAKING] = {"cycle_braking", BW_FIGURE_ENERGY, (double)NAN, "EU 2017/1151",
                 "Annex XXI Sub-Annex 7 5", BW_CERTAINTY_MEMORY},
    [EXCURSIONS] = {"trace_excursions", BW_FIGURE_COUNT, 10.0, TOLERANCE},
    [LONGEST] = {"trace_longest", BW_FIGURE_TIME, 1.0, TOLERANCE},
    [OUTSIDE] = {"trace_outside", BW_FIGURE_TIME, (double)NAN, TOLERANCE},
    [ERROR] = {"trace_rmsse", BW_FIGURE_SPEED, 1.3, INDEX},
    [WORK_LEAST] = {"trace_iwr_least", BW_FIGURE_PERCENT_LEAST, -2.0, INDEX},
    [WORK_MOST] = {"trace_iwr_most", BW_FIGURE_PERCENT_MOST, 4.0, INDEX},
    [SHARE_CAR] = {"friction_car", BW_FIGURE_SHARE_MOST, (double)NAN, SHARE},
    [SHARE_FRONT] = {"friction_front", BW_FIGURE_SHARE_MOST, (double)NAN, SHARE},
    [SHARE_REAR] = {"friction_rear", BW_FIGURE_SHARE_MOST, (double)NAN, SHARE},
};

struct bw_friction_shares bw_friction_shares_of(const struct bw_brakes *brakes,
                                                const double friction[2], double machine) {
  const double none = (double)NAN;
  const double total = friction[0] + friction[1] + machine;
  const double pressures = brakes->axle[0].per_pressure + brakes->axle[1].per_pressure;
  struct bw_friction_shares shares = {none, {none, none}};
  if (!(total > 0.0)) {
    return shares;
  }
  shares.car = (friction[0] + friction[1]) / total;
  for (int i = 0; i < 2; i++) {
    if (brakes->axle[i].per_pressure > 0.0) {
      shares.axle[i] = friction[i] * pressures / (brakes->axle[i].per_pressure * total);
    }
  }
  return shares;
}

static void read_run(const struct bw_case *loaded, const struct bw_evaluation *evaluation,
                     double result[FIGURES]) {
  const double *value = evaluation->summary.value;
  const struct bw_ledger *ledger = &evaluation->ledger;
  const struct bw_friction_shares shares =
      bw_friction_shares_of(&loaded->brakes, ledger->friction, ledger->machine);
  result[ENERGY] = ledger->drive / KILO;
  result[BRAKING] = value[BW_SUMMARY_ENERGY_TRACE];
  result[EXCURSIONS] = value[BW_SUMMARY_TRACE_EXCURSIONS];
  result[LONGEST] = value[BW_SUMMARY_TRACE_LONGEST];
  result[OUTSIDE] = value[BW_SUMMARY_TRACE_OUTSIDE];
  result[SHARE_CAR] = shares.car;
  result[SHARE_FRONT] = shares.axle[BW_FRONT];
  result[SHARE_REAR] = shares.axle[BW_REAR];
}

static bool look(const struct bw_case *loaded, void *state, const struct bw_sample *sample) {
  bw_drive_index_watch(state, &loaded->trace, sample);
  return true;
}

/* the same drive again, its indices alone: what an evaluation keeps does not hold them */
static enum bw_status run_indices(const struct bw_assess_job *job, double result[FIGURES],
                                  struct bw_diag *diag) {
  struct bw_drive_index index = {0};
  const struct bw_watch watch = {&index, sizeof index, job->loaded, look};
  BW_TRY(bw_watch_run(job, &watch, diag));
  result[ERROR] = bw_drive_index_error(&index) * KMH_PER_MPS;
  result[WORK_LEAST] = result[WORK_MOST] = bw_drive_index_work(&index) * PERCENT;
  return BW_OK;
}

static bool is_judged(int figure) {
  return figure == EXCURSIONS || figure == LONGEST || figure == ERROR || figure == WORK_LEAST ||
         figure == WORK_MOST;
}

static enum bw_status run_cycle(const struct bw_assess_job *job, double result[FIGURES],
                                struct bw_diag *diag) {
  struct bw_evaluation evaluation = {0};
  BW_TRY(bw_assess_evaluate(job, job->loaded, &evaluation, diag));
  read_run(job->loaded, &evaluation, result);
  bw_evaluation_free(&evaluation);
  return run_indices(job, result, diag);
}

/* the case without its fault, if it has one: what is held against the rules is the sound car */
static enum bw_status run_sound(const struct bw_assess_job *job, double result[FIGURES],
                                struct bw_diag *diag) {
  struct bw_case *copy = bw_alloc(1, sizeof *copy);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a cycle");
  }
  *copy = *job->loaded; /* tables and trace stay borrowed */
  copy->fault.kind = BW_FAULT_NONE;
  struct bw_assess_job sound = *job;
  sound.loaded = copy;
  const enum bw_status status = run_cycle(&sound, result, diag);
  bw_free(copy);
  return status;
}

static enum bw_status run(const struct bw_assess_job *job, struct bw_assessment *out,
                          struct bw_diag *diag) {
  const struct bw_cycle_energy published = bw_cycle_energy(job->loaded);
  struct bw_assess_row row = {.strategy = job->strategy,
                              .load = job->loaded->vehicle.load_state,
                              .charge = BW_STOP_CHARGE_OWN,
                              .is_connected = true,
                              .demand = (double)NAN};
  double result[FIGURES];
  double limit[FIGURES];
  for (int i = 0; i < FIGURES; i++) {
    result[i] = (double)NAN;
    limit[i] = FIGURE[i].limit;
  }
  limit[ENERGY] = published.demand / KILO;
  limit[BRAKING] = published.braking / KILO;
  (void)snprintf(row.condition, sizeof row.condition, "%.13s, own charge", job->loaded->trace.name);
  if (job->loaded->trace.kind != BW_TRACE_SPEED) {
    (void)snprintf(row.note, sizeof row.note, "the case drives a manoeuvre, not a cycle of speeds");
  } else {
    struct bw_diag own = {0};
    const enum bw_status status = run_sound(job, result, &own);
    if (bw_assess_is_fatal(status)) {
      return bw_fail(diag, status, "assessment of the cycle stopped: %.300s",
                     bw_diag_text(&own, status));
    }
    if (status != BW_OK) {
      bw_assess_note(&row, status, &own);
    }
  }
  for (int i = 0; i < FIGURES; i++) {
    row.requirement = &FIGURE[i];
    row.limit = limit[i];
    row.result = result[i];
    row.is_information = !is_judged(i);
    BW_TRY(bw_assessment_add(out, &row, diag));
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_CYCLE = {
    .title = "Cycle",
    .is_per_strategy = true,
    .run = run,
    .notes =
        "Cycle: as limit of the two energies stands what the published procedure gives (target "
        "trace, level road, 1.03 times the mass), as result our own driven cycle: work of the "
        "machines' drive at the axles, braking of the joined trace with the case's rotating "
        "inertias and slopes. RMSSE is the root mean square of the speed error, IWR how much more "
        "inertial work was driven than the target asks for (SAE J2951; limits read in EU "
        "2017/1151, equations from memory); a simulated driver keeps both easily. Friction shares: "
        "friction work over what the friction brakes of "
        "car or axle would do alone in their fixed proportion; the brake-emission rules use a "
        "cycle of their own. Overrun braking by the machines counts as braking.",
};
