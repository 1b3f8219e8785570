/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/fault_drive.h"

#include "alloc.h"
#include "assess/balance.h"

#include <math.h>

/* m/s; axle balance and slip below say nothing */
static const double SLOWEST = 1.0;
/* s; a period that ends this little before the window's end is its last */
static const double ROUNDING = 1e-9;
enum { PERIODS_LEAST = 3 /* of a window: shorter ones cannot be searched */ };

struct watcher {
  const struct bw_case *loaded;
  const struct bw_observer *guard;
  struct bw_fault_drive *drive;
  double inertia;             /* N m per m/s2 of demand */
  struct bw_fault_window now; /* open while power > 0 */
  double paused;              /* s, when the open window's demand fell; NaN: it has not */
  bool is_done;
};

static bool judge_balance(const struct bw_case *loaded, const struct bw_sample *sample,
                          struct bw_balance_check *check) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  const double weight = vehicle->load[vehicle->load_state].mass * BW_GRAVITY;
  const double force[2] = {sample->axle[0].brake_force, sample->axle[1].brake_force};
  const double load[2] = {sample->axle[0].load_level, sample->axle[1].load_level};
  if (!(sample->speed_end > SLOWEST) || !(force[0] + force[1] > 0.0) || !(load[0] > 0.0) ||
      !(load[1] > 0.0)) {
    return false;
  }
  *check = bw_balance_check(force, load, weight, loaded->assess.balance_slope);
  return true;
}

static double lock_time(const struct bw_case *loaded, const struct bw_sample *sample) {
  if (loaded->fidelity == BW_FIDELITY_SLIP) {
    return sample->locked_time;
  }
  bool is_over = false;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    is_over = is_over || fabs(axle->contact_force) > loaded->vehicle.adhesion * axle->load;
  }
  return is_over && sample->speed_end > SLOWEST ? sample->duration : 0.0;
}

static void fill_row(const struct watcher *watcher, const struct bw_sample *sample,
                     struct bw_fault_row *row) {
  *row = (struct bw_fault_row){.time = sample->time + sample->duration,
                               .speed = sample->speed_end,
                               .distance = sample->distance_start + sample->distance,
                               .mean = sample->deceleration,
                               .margin = (double)NAN,
                               .lock = lock_time(watcher->loaded, sample)};
  struct bw_balance_check check;
  if (judge_balance(watcher->loaded, sample, &check)) {
    row->margin = check.margin;
    row->is_rear_first = check.used[BW_REAR] > check.used[BW_FRONT] &&
                         check.braking_rate >= BW_BALANCE_ORDER_FROM &&
                         check.braking_rate <= BW_BALANCE_ORDER_TO;
  }
  double torque = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    torque += axle->machine_torque + axle->friction_torque;
    if (sample->speed_end > SLOWEST) {
      row->slip = fmax(row->slip, fmax(fabs(axle->slip), axle->slip_peak));
    }
  }
  row->shortfall = (sample->demand - torque) / watcher->inertia;
}

static enum bw_status add_row(struct watcher *watcher, const struct bw_sample *sample,
                              struct bw_diag *diag) {
  struct bw_fault_drive *drive = watcher->drive;
  if (drive->n == drive->room) {
    const size_t room = drive->room > 0 ? 2 * drive->room : 1024;
    struct bw_fault_row *row = bw_realloc(drive->row, room, sizeof *row);
    if (row == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "no memory for a drive; close other programs");
    }
    drive->row = row;
    drive->room = room;
  }
  if (drive->n == 0) {
    drive->speed = sample->speed_start;
  }
  fill_row(watcher, sample, &drive->row[drive->n++]);
  return BW_OK;
}

/* keep the open window if it is among the strongest, and close it */
static void close_window(struct watcher *watcher, double end) {
  struct bw_fault_drive *drive = watcher->drive;
  struct bw_fault_window window = watcher->now;
  const double least = (double)PERIODS_LEAST * watcher->loaded->control_period;
  window.end = end;
  watcher->now.power = 0.0;
  watcher->paused = (double)NAN;
  if (!(window.end - window.start >= least - ROUNDING)) {
    return;
  }
  if (drive->window_count < drive->wanted) {
    drive->window[drive->window_count++] = window;
    return;
  }
  size_t weakest = 0;
  for (size_t i = 1; i < drive->window_count; i++) {
    weakest = drive->window[i].power < drive->window[weakest].power ? i : weakest;
  }
  if (window.power > drive->window[weakest].power) {
    for (size_t i = weakest; i + 1 < drive->window_count; i++) {
      drive->window[i] = drive->window[i + 1];
    }
    drive->window[drive->window_count - 1] = window;
  }
}

static void look_for_windows(struct watcher *watcher, const struct bw_sample *sample) {
  const struct bw_assess_options *assess = &watcher->loaded->assess;
  const double demand = sample->demand / watcher->inertia;
  const double time = sample->time + sample->duration;
  const bool is_open = watcher->now.power > 0.0;
  if (sample->speed_end <= 0.0) {
    if (is_open) {
      close_window(watcher, isfinite(watcher->paused) ? watcher->paused : time);
    }
    return;
  }
  if (!is_open && !(demand > assess->event_on)) {
    return;
  }
  const double power = sample->demand / watcher->loaded->vehicle.tyre_radius * sample->speed_start;
  watcher->now.start = is_open ? watcher->now.start : sample->time;
  watcher->now.power = fmax(watcher->now.power, power);
  if (!(demand < assess->event_off)) {
    watcher->paused = (double)NAN;
  } else if (!isfinite(watcher->paused)) {
    watcher->paused = sample->time;
  } else if (time - watcher->paused > assess->event_gap) {
    close_window(watcher, watcher->paused);
  }
}

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  struct watcher *watcher = context;
  const struct bw_fault_drive *drive = watcher->drive;
  if (watcher->guard != NULL) {
    BW_TRY(watcher->guard->watch(watcher->guard->context, sample, diag));
  }
  if (drive->wanted > 0) {
    look_for_windows(watcher, sample);
    return BW_OK;
  }
  if (sample->time >= drive->from - ROUNDING) {
    BW_TRY(add_row(watcher, sample, diag));
  }
  watcher->is_done = sample->time + sample->duration >= drive->until - ROUNDING;
  return watcher->is_done ? BW_E_INTERRUPTED : BW_OK;
}

static enum bw_status consult(void *context, const struct bw_blend_input *input,
                              const struct bw_blend_request *request, struct bw_diag *diag) {
  const struct watcher *watcher = context;
  const struct bw_observer *guard = watcher->guard;
  return guard == NULL || guard->consult == NULL
             ? BW_OK
             : guard->consult(guard->context, input, request, diag);
}

enum bw_status bw_fault_drive_run(const struct bw_case *loaded,
                                  const struct bw_blend_strategy *strategy,
                                  const struct bw_observer *guard, struct bw_fault_drive *drive,
                                  struct bw_diag *diag) {
  BW_ASSERT(drive->wanted <= BW_FAULT_WINDOWS_MAX);
  struct watcher watcher = {.loaded = loaded,
                            .guard = guard,
                            .drive = drive,
                            .inertia = loaded->vehicle.tyre_radius * bw_case_effective_mass(loaded),
                            .paused = (double)NAN};
  const struct bw_observer observer = {.context = &watcher, .watch = watch, .consult = consult};
  double *params = bw_alloc(strategy->param_count + 1, sizeof *params);
  if (params == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory for a drive; close other programs");
  }
  bw_case_strategy_params(loaded, strategy, params);
  drive->n = 0;
  drive->window_count = 0;
  const enum bw_status status = bw_run(loaded, strategy, params, &observer, 1, diag);
  bw_free(params);
  if (status == BW_OK && drive->wanted > 0 && watcher.now.power > 0.0) {
    close_window(&watcher, bw_trace_duration(&loaded->trace));
  }
  return status == BW_E_INTERRUPTED && watcher.is_done ? BW_OK : status;
}

void bw_fault_drive_free(struct bw_fault_drive *drive) {
  bw_free(drive->row);
  drive->row = NULL;
  drive->n = drive->room = 0;
}
