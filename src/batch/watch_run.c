/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/watch_run.h"

#include "alloc.h"
#include "batch/evaluate_contained.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double WHOLE_METRES = 1e3; /* per km */

struct eye {
  const struct bw_watch *watch;
  bool has_seen_enough;
};

static enum bw_status look(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  struct eye *eye = context;
  (void)diag;
  if (eye->watch->look(eye->watch->loaded, eye->watch->state, sample)) {
    return BW_OK;
  }
  eye->has_seen_enough = true;
  return BW_E_LIMIT; /* far enough */
}

static enum bw_status run_live(const struct bw_watch *watch,
                               const struct bw_blend_strategy *strategy,
                               const struct bw_observer *guard, struct bw_diag *diag) {
  struct eye eye = {.watch = watch};
  struct bw_observer observers[2] = {{.context = &eye, .watch = look}};
  double *params = bw_alloc(strategy->param_count, sizeof *params);
  if (params == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory for the parameters of '%s'", strategy->name);
  }
  bw_case_strategy_params(watch->loaded, strategy, params);
  if (guard != NULL) {
    observers[1] = *guard;
  }
  const enum bw_status status =
      bw_run(watch->loaded, strategy, params, observers, guard != NULL ? 2 : 1, diag);
  bw_free(params);
  return eye.has_seen_enough ? BW_OK : status;
}

static enum bw_status work(void *context, const struct bw_blend_strategy *live,
                           const struct bw_observer *guard, struct bw_parcel *parcel,
                           struct bw_diag *diag) {
  const struct bw_watch *watch = context;
  BW_TRY(run_live(watch, live, guard, diag));
  bw_parcel_put(parcel, watch->state, watch->size);
  return BW_OK;
}

enum bw_status bw_watch_run(const struct bw_assess_job *job, const struct bw_watch *watch,
                            struct bw_diag *diag) {
  if (job->plugin == NULL) {
    return run_live(watch, job->strategy, NULL, diag);
  }
  struct bw_watch errand = *watch;
  const struct bw_plugin_job child = {.work = work, .context = &errand};
  struct bw_parcel parcel = {0};
  enum bw_status status = bw_plugin_run(job->plugin, &job->containment, &child, &parcel, diag);
  if (status == BW_OK) {
    bw_parcel_get(&parcel, watch->state, watch->size);
    status = parcel.has_failed ? BW_E_INTERNAL : BW_OK;
  }
  bw_parcel_free(&parcel);
  return status;
}

enum bw_status bw_assess_evaluate(const struct bw_assess_job *job, const struct bw_case *driven,
                                  struct bw_evaluation *out, struct bw_diag *diag) {
  return job->plugin != NULL
             ? bw_evaluate_contained(driven, job->plugin, &job->containment, NULL, out, diag)
             : bw_evaluate(driven, job->strategy, NULL, out, diag);
}

enum bw_status bw_assess_stop(const struct bw_assess_job *job, const struct bw_case *stop,
                              struct bw_stop_found *found, struct bw_diag *diag) {
  struct bw_evaluation evaluation = {0};
  BW_TRY(bw_assess_evaluate(job, stop, &evaluation, diag));
  const double *value = evaluation.summary.value;
  *found = (struct bw_stop_found){
      .is_at_rest = isfinite(value[BW_SUMMARY_STOPPING_DISTANCE]),
      .distance = value[BW_SUMMARY_DISTANCE] * WHOLE_METRES,
      .mfdd = value[BW_SUMMARY_MFDD],
      .grip_exceeded = value[BW_SUMMARY_ADHESION_EXCEEDED],
  };
  bw_evaluation_free(&evaluation);
  return BW_OK;
}

struct bw_case *bw_assess_case(const struct bw_case *loaded, enum bw_load_state load,
                               enum bw_stop_charge charge) {
  struct bw_case *copy = bw_alloc(1, sizeof *copy);
  if (copy == NULL) {
    return NULL;
  }
  *copy = *loaded;
  memset(&copy->trace, 0, sizeof copy->trace);
  memset(&copy->fault, 0, sizeof copy->fault);
  copy->fidelity = BW_FIDELITY_ROLLING;
  copy->vehicle.load_state = load;
  copy->driver.goes_on_at_rest = false;
  if (charge == BW_STOP_CHARGE_FULL) {
    copy->battery.start_charge = 1.0;
  }
  return copy;
}

enum bw_status bw_assess_case_stop(struct bw_case *copy, double speed, double demand, double build,
                                   double duration, struct bw_diag *diag) {
  const double time[3] = {0.0, build, duration};
  const double value[3] = {0.0, demand, demand};
  const struct bw_trace_points points = {BW_TRACE_DECEL, 3, time, value};
  copy->driver.decel_means = BW_DECEL_BRAKE;
  copy->driver.initial_speed = speed;
  bw_trace_free(&copy->trace);
  return bw_trace_make(&points, 0.0, &copy->trace, diag);
}

void bw_assess_case_free(struct bw_case *copy) {
  if (copy != NULL) {
    bw_trace_free(&copy->trace);
    bw_free(copy);
  }
}

const struct bw_assess_row *bw_assess_row_of(const struct bw_assessment *assessment,
                                             const struct bw_assess_job *job,
                                             enum bw_requirement_id requirement,
                                             enum bw_load_state load, enum bw_stop_charge charge) {
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_assess_row *row = &assessment->rows[i];
    if (row->requirement == bw_requirement_at(requirement) && row->strategy == job->strategy &&
        row->load == load && row->charge == charge && row->is_connected &&
        row->failure == BW_STOP_SOUND) {
      return row;
    }
  }
  return NULL;
}

bool bw_assess_is_fatal(enum bw_status status) {
  return status == BW_E_MEMORY || status == BW_E_INTERRUPTED || status == BW_E_IO;
}

void bw_assess_note(struct bw_assess_row *row, enum bw_status status, const struct bw_diag *diag) {
  (void)snprintf(row->note, sizeof row->note, "%.150s", bw_diag_text(diag, status));
}
