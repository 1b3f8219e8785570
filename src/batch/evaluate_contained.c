/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/evaluate_contained.h"

#include "alloc.h"

#include <string.h>

/* the evaluation a child is to make */
struct errand {
  const struct bw_case *loaded;
  const struct bw_observer *extra;
  const struct bw_observer *guard;
};

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  const struct errand *errand = context;
  return errand->extra == NULL ? BW_OK : errand->extra->watch(errand->extra->context, sample, diag);
}

static enum bw_status consult(void *context, const struct bw_blend_input *input,
                              const struct bw_blend_request *request, struct bw_diag *diag) {
  const struct errand *errand = context;
  BW_TRY(errand->guard->consult(errand->guard->context, input, request, diag));
  if (errand->extra == NULL || errand->extra->consult == NULL) {
    return BW_OK;
  }
  return errand->extra->consult(errand->extra->context, input, request, diag);
}

static enum bw_status work(void *context, const struct bw_blend_strategy *live,
                           const struct bw_observer *guard, struct bw_parcel *parcel,
                           struct bw_diag *diag) {
  struct errand *errand = context;
  errand->guard = guard;
  const struct bw_observer both = {.context = errand, .watch = watch, .consult = consult};
  struct bw_evaluation evaluation;
  const enum bw_status status = bw_evaluate(errand->loaded, live, &both, &evaluation, diag);
  if (status == BW_OK) {
    bw_parcel_put_evaluation(parcel, &evaluation);
  }
  bw_evaluation_free(&evaluation);
  return status;
}

enum bw_status bw_evaluate_contained(const struct bw_case *loaded, const struct bw_plugin *plugin,
                                     const struct bw_containment *containment,
                                     const struct bw_observer *extra, struct bw_evaluation *out,
                                     struct bw_diag *diag) {
  memset(out, 0, sizeof *out);
  struct errand errand = {.loaded = loaded, .extra = extra};
  const struct bw_plugin_job job = {.work = work, .context = &errand};
  struct bw_parcel parcel = {0};
  enum bw_status status = bw_plugin_run(plugin, containment, &job, &parcel, diag);
  if (status == BW_OK) {
    status = bw_parcel_get_evaluation(&parcel, out, diag);
  }
  bw_parcel_free(&parcel);
  return status;
}

/* the moment a child is to find */
struct look {
  const struct bw_case *loaded;
  double at;
  struct bw_moment *moment;
};

static enum bw_status look(void *context, const struct bw_blend_strategy *live,
                           const struct bw_observer *guard, struct bw_parcel *parcel,
                           struct bw_diag *diag) {
  const struct look *job = context;
  const struct bw_moment_search search = {.at = job->at, .guard = guard};
  BW_TRY(bw_moment_find(job->loaded, live, &search, job->moment, diag));
  bw_parcel_put(parcel, job->moment, sizeof *job->moment);
  return BW_OK;
}

enum bw_status bw_moment_find_contained(const struct bw_case *loaded,
                                        const struct bw_plugin *plugin,
                                        const struct bw_containment *containment, double at,
                                        struct bw_moment *out, struct bw_diag *diag) {
  struct look looked = {.loaded = loaded, .at = at, .moment = out};
  const struct bw_plugin_job job = {.work = look, .context = &looked};
  struct bw_parcel parcel = {0};
  enum bw_status status = bw_plugin_run(plugin, containment, &job, &parcel, diag);
  if (status == BW_OK) {
    bw_parcel_get(&parcel, out, sizeof *out);
    status = parcel.has_failed ? BW_E_INTERNAL : BW_OK;
  }
  bw_parcel_free(&parcel);
  return status;
}

/* the drive a child is to make */
struct drive {
  const struct bw_case *loaded;
  struct bw_fault_drive *drive;
};

static enum bw_status drive(void *context, const struct bw_blend_strategy *live,
                            const struct bw_observer *guard, struct bw_parcel *parcel,
                            struct bw_diag *diag) {
  const struct drive *job = context;
  struct bw_fault_drive own = {
      .from = job->drive->from, .until = job->drive->until, .wanted = job->drive->wanted};
  const enum bw_status status = bw_fault_drive_run(job->loaded, live, guard, &own, diag);
  if (status == BW_OK) {
    bw_parcel_put(parcel, &own, sizeof own);
    bw_parcel_put(parcel, own.row, own.n * sizeof *own.row);
  }
  bw_fault_drive_free(&own);
  return status;
}

/* the pointer to the rows is the child's */
static enum bw_status take_drive(struct bw_parcel *parcel, struct bw_fault_drive *drive,
                                 struct bw_diag *diag) {
  struct bw_fault_drive own;
  bw_parcel_get(parcel, &own, sizeof own);
  struct bw_fault_row *row = bw_alloc(own.n + 1, sizeof *row);
  if (row == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the rows of a child process");
  }
  bw_parcel_get(parcel, row, own.n * sizeof *row);
  if (parcel->has_failed) {
    bw_free(row);
    return bw_fail(diag, BW_E_INTERNAL, "a child process sent half a drive; report this");
  }
  bw_fault_drive_free(drive);
  *drive = own;
  drive->row = row;
  drive->room = own.n + 1;
  return BW_OK;
}

enum bw_status bw_fault_drive_contained(const struct bw_case *loaded,
                                        const struct bw_plugin *plugin,
                                        const struct bw_containment *containment,
                                        struct bw_fault_drive *out, struct bw_diag *diag) {
  struct drive errand = {.loaded = loaded, .drive = out};
  const struct bw_plugin_job job = {.work = drive, .context = &errand};
  struct bw_parcel parcel = {0};
  enum bw_status status = bw_plugin_run(plugin, containment, &job, &parcel, diag);
  if (status == BW_OK) {
    status = take_drive(&parcel, out, diag);
  }
  bw_parcel_free(&parcel);
  return status;
}

double bw_containment_deadline(const struct bw_case *loaded) {
  const double per_step = 40e-9; /* s, the slowest that is accepted of a run */
  const double steps = bw_trace_duration(&loaded->trace) / loaded->step;
  return 10.0 + 50.0 * per_step * steps;
}
