/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/envelope.h"

#include <math.h>

/* N m; answers nearer than this to their input are set to it, so that none becomes denormal */
static const double SNAP = 1e-7;

static double decay(double time, double lag) {
  return lag > 0.0 ? exp(-time / lag) : (time > 0.0 ? 0.0 : 1.0);
}

/* integral over `time` of the part of the start state that is still left */
static double left_over(double time, double lag) {
  return lag > 0.0 ? -lag * expm1(-time / lag) : 0.0;
}

/* constants that depend on the length of a sub-step */
static void prepare_path(struct bw_envelope_path *path, double period, double substep) {
  const double lag = path->lag;
  path->period_decay[0] = decay(path->late, lag);
  path->period_decay[1] = decay(period - path->late, lag);
  for (size_t j = 0; j <= BW_SUBSTEPS_MAX; j++) {
    path->decay_after[j] = decay((double)j * substep, lag);
  }
  path->mean_weight = left_over(substep, lag) / substep;
  /* a `late` on the border of two sub-steps belongs to the later one */
  path->whole = (size_t)(path->late / substep * (1.0 + 1e-12));
  const double before = bw_max(0.0, path->late - (double)path->whole * substep);
  const double after = bw_max(0.0, substep - before);
  path->broken_decay[0] = decay(before, lag);
  path->broken_decay[1] = decay(after, lag);
  /* y0 e(before) and the old input's answer still decay in the second part */
  const double first = left_over(before, lag);
  const double second = left_over(after, lag);
  path->broken_mean[0] = (first + path->broken_decay[0] * second) / substep;
  path->broken_mean[1] = (before - first + (1.0 - path->broken_decay[0]) * second) / substep;
  path->broken_mean[2] = (after - second) / substep;
}

static enum bw_status add_path(struct bw_envelope *envelope, double dead_time, double lag,
                               bool is_machine, struct bw_diag *diag) {
  const double whole = floor(dead_time / envelope->period * (1.0 + 1e-12));
  if (!(whole <= BW_ENVELOPE_HISTORY - 3)) {
    return bw_fail(diag, BW_E_RANGE,
                   "a dead time of %g s is too long to be judged; give at most %d control periods",
                   dead_time, BW_ENVELOPE_HISTORY - 3);
  }
  struct bw_envelope_path path = {
      .lag = lag,
      .delay = (size_t)whole,
      .late = bw_max(0.0, dead_time - whole * envelope->period),
      .is_machine = is_machine,
  };
  for (size_t i = 0; i < envelope->path_count; i++) {
    const struct bw_envelope_path *known = &envelope->path[i];
    const bool is_same = known->delay == path.delay && known->is_machine == is_machine &&
                         fabs(known->late - path.late) <= 1e-12 && fabs(known->lag - lag) <= 1e-12;
    if (is_same) {
      return BW_OK;
    }
  }
  if (path.delay + 2 > envelope->longest) {
    envelope->longest = path.delay + 2;
  }
  prepare_path(&path, envelope->period, envelope->substep);
  envelope->path[envelope->path_count++] = path;
  return BW_OK;
}

enum bw_status bw_envelope_make(const struct bw_judge *judge, struct bw_envelope *envelope,
                                struct bw_diag *diag) {
  const struct bw_case *loaded = judge->loaded;
  *envelope = (struct bw_envelope){.period = loaded->control_period, .substep = loaded->step};
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    if (!machine->is_fitted) {
      continue;
    }
    BW_TRY(add_path(envelope, machine->dead_time, machine->lag, true, diag));
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    BW_TRY(add_path(envelope, friction->dead_time, friction->lag, false, diag));
  }
  return BW_OK;
}

static double past(const double *ring, size_t now, size_t periods) {
  return ring[(now + BW_ENVELOPE_HISTORY - periods) % BW_ENVELOPE_HISTORY];
}

static double advance(double state, double input, double left) {
  const double distance = (state - input) * left;
  return fabs(distance) > SNAP ? input + distance : input;
}

/* answer of `path` at the end of the period that is newest in `ring` */
static double answer(const struct bw_envelope_path *path, const double *ring, size_t now,
                     double state) {
  const double fresh = past(ring, now, path->delay);
  const double old = past(ring, now, path->delay + 1);
  return advance(advance(state, old, path->period_decay[0]), fresh, path->period_decay[1]);
}

/* sub-step means of the answer that starts at `state`: `old` acts until `late`, `new` after */
static void fill_means(const struct bw_envelope_path *path, double state, const double input[2],
                       size_t substeps, double *mean) {
  const double old = input[0];
  const double fresh = input[1];
  const size_t whole = path->whole < substeps ? path->whole : substeps;
  const double distance = (state - old) * path->mean_weight;
  for (size_t j = 0; j < whole; j++) {
    mean[j] = old + distance * path->decay_after[j];
  }
  if (whole == substeps) {
    return;
  }
  const double at_break = old + (state - old) * path->decay_after[whole];
  mean[whole] =
      path->broken_mean[0] * at_break + path->broken_mean[1] * old + path->broken_mean[2] * fresh;
  const double at_late = old + (at_break - old) * path->broken_decay[0];
  const double start = fresh + (at_late - fresh) * path->broken_decay[1];
  const double rest = (start - fresh) * path->mean_weight;
  for (size_t j = whole + 1; j < substeps; j++) {
    mean[j] = fresh + rest * path->decay_after[j - whole - 1];
  }
}

/* least and greatest of the paths so far, and of `mean` */
static void spread(const double *restrict mean, size_t substeps, bool is_first,
                   double *restrict low, double *restrict high) {
  if (is_first) {
    for (size_t j = 0; j < substeps; j++) {
      low[j] = high[j] = mean[j];
    }
    return;
  }
  for (size_t j = 0; j < substeps; j++) {
    low[j] = bw_min(low[j], mean[j]);
    high[j] = bw_max(high[j], mean[j]);
  }
}

/* take the greatest driving tail off `low` and the least off `high` */
static void take_off_drive(struct bw_envelope *envelope, size_t substeps) {
  double least[BW_SUBSTEPS_MAX];
  double most[BW_SUBSTEPS_MAX];
  bool is_first = true;
  for (size_t i = 0; i < envelope->path_count; i++) {
    const struct bw_envelope_path *path = &envelope->path[i];
    if (!path->is_machine) {
      continue;
    }
    const double input[2] = {past(envelope->driving, envelope->now, path->delay + 1),
                             past(envelope->driving, envelope->now, path->delay)};
    double mean[BW_SUBSTEPS_MAX];
    fill_means(path, path->drive, input, substeps, mean);
    spread(mean, substeps, is_first, least, most);
    is_first = false;
  }
  if (is_first) {
    return;
  }
  for (size_t j = 0; j < substeps; j++) {
    envelope->low[j] -= most[j];
    envelope->high[j] -= least[j];
  }
}

static bool has_drive(const struct bw_envelope *envelope) {
  for (size_t i = 0; i < envelope->path_count; i++) {
    const struct bw_envelope_path *path = &envelope->path[i];
    const double sum = path->drive + past(envelope->driving, envelope->now, path->delay + 1) +
                       past(envelope->driving, envelope->now, path->delay);
    if (path->is_machine && sum > 0.0) {
      return true;
    }
  }
  return false;
}

static void fill_band(struct bw_envelope *envelope, size_t substeps) {
  double mean[BW_SUBSTEPS_MAX];
  for (size_t i = 0; i < envelope->path_count; i++) {
    const struct bw_envelope_path *path = &envelope->path[i];
    const double input[2] = {past(envelope->demand, envelope->now, path->delay + 1),
                             past(envelope->demand, envelope->now, path->delay)};
    fill_means(path, path->brake, input, substeps, mean);
    spread(mean, substeps, i == 0, envelope->low, envelope->high);
  }
  if (has_drive(envelope)) {
    take_off_drive(envelope, substeps);
  }
}

static void use_substep(struct bw_envelope *envelope, double substep) {
  if (fabs(substep - envelope->substep) <= 1e-12 || !(substep > 0.0)) {
    return;
  }
  envelope->substep = substep;
  for (size_t i = 0; i < envelope->path_count; i++) {
    prepare_path(&envelope->path[i], envelope->period, substep);
  }
}

void bw_envelope_advance(struct bw_envelope *envelope, const struct bw_sample *sample,
                         bool is_wanted) {
  envelope->now = (envelope->now + 1) % BW_ENVELOPE_HISTORY;
  envelope->demand[envelope->now] = sample->demand;
  envelope->driving[envelope->now] = sample->drive;
  if (is_wanted) {
    use_substep(envelope, sample->substep);
    fill_band(envelope, sample->substeps);
  }
  envelope->settled = sample->demand > 0.0 ? 0 : envelope->settled + 1;
  envelope->coasting = sample->drive > 0.0 ? 0 : envelope->coasting + 1;
  const bool has_brake = envelope->settled < envelope->longest;
  const bool has_drive = envelope->coasting < envelope->longest;
  for (size_t i = 0; i < envelope->path_count; i++) {
    struct bw_envelope_path *path = &envelope->path[i];
    if (has_brake || path->brake > 0.0) {
      path->brake = answer(path, envelope->demand, envelope->now, path->brake);
    }
    if (path->is_machine && (has_drive || path->drive > 0.0)) {
      path->drive = answer(path, envelope->driving, envelope->now, path->drive);
    }
  }
}
