/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault_job.h"

#include "interrupt.h"
#include "run_watch.h"

#include <string.h>

enum { TEXTS_MAX = 2 * BW_SWEEP_VALUE_MAX };

/* ------------------------------------------------------------------------------- a condition */

enum bw_status bw_fault_job_read(struct bw_fault_job *job, struct bw_diag *diag) {
  const struct bw_case_source source = {job->case_path, job->data_dir, job->set_count, job->sets};
  const struct bw_extra_strategies extra = bw_controllers_extra(job->controllers);
  return bw_case_base_read(&source, &extra, &job->files, diag);
}

enum bw_status bw_fault_job_load(const struct bw_fault_job *job, size_t condition, const char *more,
                                 struct bw_case **out, struct bw_diag *diag) {
  const struct bw_fault_axes *axes = &job->axes;
  struct bw_override *list = bw_alloc(axes->key_count + 1, sizeof *list);
  char(*text)[TEXTS_MAX] = bw_alloc(axes->key_count + 1, sizeof *text);
  size_t count = 0;
  enum bw_status status = BW_E_MEMORY;
  *out = NULL;
  if (list != NULL && text != NULL) {
    if (more != NULL) {
      list[count++].text = more;
    }
    for (size_t i = 0; i < axes->key_count; i++) {
      if (!bw_fault_axes_is_own(axes, condition, i)) {
        (void)snprintf(text[i], TEXTS_MAX, "%s=%s", axes->key[i],
                       axes->value[condition * axes->key_count + i]);
        list[count++].text = text[i];
      }
    }
    status = bw_case_derive(job->files, list, count, out, diag);
  }
  bw_free(list);
  bw_free(text);
  return status;
}

/* ----------------------------------------------------------------------------- in a worker */

static enum bw_status drive(void *context, const struct bw_case *loaded,
                            struct bw_fault_drive *drive, struct bw_diag *diag) {
  const struct bw_fault_job *job = context;
  const struct bw_plugin *plugin = bw_controllers_find(job->controllers, job->strategy);
  if (plugin == NULL) {
    struct bw_run_watch watch = bw_run_watch_make(job->controllers->deadline);
    const struct bw_observer observer = {.context = &watch, .watch = bw_run_watch_sample};
    return bw_fault_drive_run(loaded, job->strategy, watch.deadline > 0.0 ? &observer : NULL, drive,
                              diag);
  }
  const struct bw_containment containment = bw_controllers_containment(job->controllers, loaded);
  return bw_fault_drive_contained(loaded, plugin, &containment, drive, diag);
}

static void leave_condition(struct bw_fault_job *job) {
  bw_fault_base_free(&job->base);
  bw_case_destroy(job->loaded);
  job->loaded = NULL;
  job->condition = 0;
}

/* the case and the sound car of a condition, made once for all its cells */
static enum bw_status enter_condition(struct bw_fault_job *job, size_t condition,
                                      struct bw_diag *diag) {
  if (job->condition != condition + 1) {
    leave_condition(job);
    BW_TRY(bw_fault_job_load(job, condition, NULL, &job->loaded, diag));
    job->condition = condition + 1;
    job->base_diag = (struct bw_diag){0};
    const struct bw_fault_driver driver = {drive, job};
    job->base_status =
        bw_fault_base_make(job->loaded, &driver, job->decelerations, &job->base, &job->base_diag);
  }
  if (job->base_status != BW_OK) {
    *diag = job->base_diag;
  }
  return job->base_status;
}

static void note_failure(struct bw_fault_cell *cell, const struct bw_diag *own) {
  const char *text = bw_message_bare(bw_diag_text(own, cell->status));
  (void)snprintf(cell->failure, sizeof cell->failure, "%.255s", text);
}

static void work(void *context, size_t index, struct bw_parcel *parcel) {
  struct bw_fault_job *job = context;
  struct bw_fault_cell cell = job->cells[index];
  struct bw_diag own = {0};
  cell.status = enter_condition(job, cell.condition, &own);
  if (cell.status == BW_OK) {
    const struct bw_fault_driver driver = {drive, job};
    job->loaded->fault.kind = job->kind[index % job->kind_count];
    cell.status = bw_fault_search(job->loaded, &job->base, &driver, &job->aim, &cell.worst, &own);
  }
  if (cell.status != BW_OK) {
    note_failure(&cell, &own);
  }
  bw_parcel_put(parcel, &cell, sizeof cell);
}

/* -------------------------------------------------------------------------- in this process */

static enum bw_status take(void *context, size_t index, struct bw_parcel *parcel, const char *lost,
                           struct bw_diag *diag) {
  struct bw_fault_job *job = context;
  struct bw_fault_cell *cell = &job->cells[index];
  job->done = index + 1;
  if (parcel == NULL) {
    cell->status = BW_E_NUMERIC;
    (void)snprintf(cell->failure, sizeof cell->failure, "%s", lost);
    return BW_OK;
  }
  const char *kind = cell->kind; /* the same in both processes, but that is luck to rely on */
  bw_parcel_get(parcel, cell, sizeof *cell);
  cell->kind = kind;
  if (parcel->has_failed) {
    return bw_fail(diag, BW_E_INTERNAL, "a worker process sent half a cell; report this");
  }
  return bw_status_ends_all(cell->status)
             ? bw_fail(diag, cell->status, "%s: %s", cell->kind, cell->failure)
             : BW_OK;
}

static void tick(void *context) {
  struct bw_fault_job *job = context;
  if (job->done < job->count) {
    bw_progress_show(&job->progress, job->done, job->count, job->cells[job->done].kind);
  }
}

enum bw_status bw_fault_job_run(struct bw_fault_job *job, size_t workers, struct bw_diag *diag) {
  job->count = job->axes.plan.count * job->kind_count;
  job->cells = bw_alloc(job->count, sizeof *job->cells);
  if (job->cells == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the cells");
  }
  for (size_t i = 0; i < job->count; i++) {
    job->cells[i].kind = job->word[job->kind[i % job->kind_count]];
    job->cells[i].condition = i / job->kind_count;
  }
  const struct bw_sweep_crew crew = {.end = job->count,
                                     .workers = workers < job->count ? workers : job->count,
                                     .context = job,
                                     .work = work,
                                     .take = take,
                                     .is_cancelled = bw_interrupt_has_come,
                                     .tick = tick};
  const enum bw_status status = bw_sweep_run(&crew, diag);
  bw_progress_clear(&job->progress);
  if (status == BW_E_INTERRUPTED) {
    return bw_fail(diag, status, "interrupted with %zu of %zu cells done; nothing written",
                   job->done, job->count);
  }
  return status;
}

void bw_fault_job_free(struct bw_fault_job *job) {
  leave_condition(job);
  bw_case_base_destroy(job->files);
  bw_fault_axes_free(&job->axes);
  bw_free(job->cells);
  bw_free(job->sets);
}
