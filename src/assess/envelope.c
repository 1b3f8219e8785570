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
  envelope->machine_count += is_machine ? 1 : 0;
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

/* answer of `path` at the end of a period: `old` acts until `late`, `fresh` after */
static double answer(const struct bw_envelope_path *path, double state, double old, double fresh) {
  return advance(advance(state, old, path->period_decay[0]), fresh, path->period_decay[1]);
}

/* means over `n` sub-steps of an answer that is on its way to `input` */
static void fill_piece(double input, double left, const double *restrict decay, size_t n,
                       double *restrict mean) {
  for (size_t j = 0; j < n; j++) {
    mean[j] = input + left * decay[j];
  }
}

/* answer() as means over the sub-steps of the period, from `state` on */
static void fill_means(const struct bw_envelope_path *path, double state, double old, double fresh,
                       size_t substeps, double *mean) {
  const double distance = state - old;
  const size_t whole = path->whole;
  if (whole >= substeps) {
    fill_piece(old, distance * path->mean_weight, path->decay_after, substeps, mean);
    return;
  }
  fill_piece(old, distance * path->mean_weight, path->decay_after, whole, mean);
  const double at_break = old + distance * path->decay_after[whole];
  mean[whole] =
      path->broken_mean[0] * at_break + path->broken_mean[1] * old + path->broken_mean[2] * fresh;
  const double at_late = old + (at_break - old) * path->broken_decay[0];
  const double start = fresh + (at_late - fresh) * path->broken_decay[1];
  fill_piece(fresh, (start - fresh) * path->mean_weight, path->decay_after, substeps - whole - 1,
             mean + whole + 1);
}

/* Least and greatest of the means of the first `count` paths; for one that there is not stands the
 * first. */
static void spread(const struct bw_envelope *envelope, size_t count, size_t substeps,
                   double *restrict low, double *restrict high) {
  const double *restrict one = envelope->mean[0];
  const double *restrict two = envelope->mean[count > 1 ? 1 : 0];
  const double *restrict three = envelope->mean[count > 2 ? 2 : 0];
  const double *restrict four = envelope->mean[count > 3 ? 3 : 0];
  for (size_t j = 0; j < substeps; j++) {
    low[j] = bw_min(bw_min(one[j], two[j]), bw_min(three[j], four[j]));
    high[j] = bw_max(bw_max(one[j], two[j]), bw_max(three[j], four[j]));
  }
}

void bw_envelope_answer_demand(struct bw_envelope *envelope) {
  bool is_braked = false;
  for (size_t i = 0; i < envelope->path_count; i++) {
    struct bw_envelope_path *path = &envelope->path[i];
    const double fresh = past(envelope->demand, envelope->now, path->delay);
    const double old = past(envelope->demand, envelope->now, path->delay + 1);
    path->brake = answer(path, path->brake, old, fresh);
    is_braked = is_braked || path->brake > 0.0;
  }
  envelope->is_braked = is_braked;
}

/* low and high of the answers to the demand, before bw_envelope_answer_demand() */
static void spread_demand(struct bw_envelope *envelope, size_t substeps) {
  for (size_t i = 0; i < envelope->path_count; i++) {
    const struct bw_envelope_path *path = &envelope->path[i];
    const double fresh = past(envelope->demand, envelope->now, path->delay);
    const double old = past(envelope->demand, envelope->now, path->delay + 1);
    fill_means(path, path->brake, old, fresh, substeps, envelope->mean[i]);
  }
  spread(envelope, envelope->path_count, substeps, envelope->low, envelope->high);
}

void bw_envelope_answer_drive(struct bw_envelope *envelope) {
  bool is_driven = false;
  for (size_t i = 0; i < envelope->machine_count; i++) {
    struct bw_envelope_path *path = &envelope->path[i];
    const double fresh = past(envelope->driving, envelope->now, path->delay);
    const double old = past(envelope->driving, envelope->now, path->delay + 1);
    path->drive = answer(path, path->drive, old, fresh);
    is_driven = is_driven || path->drive > 0.0;
  }
  envelope->is_driven = is_driven;
}

/* take the greatest driving tail off low and the least off high, before bw_envelope_answer_drive()
 */
static void take_off_drive(struct bw_envelope *envelope, size_t substeps) {
  for (size_t i = 0; i < envelope->machine_count; i++) {
    const struct bw_envelope_path *path = &envelope->path[i];
    const double fresh = past(envelope->driving, envelope->now, path->delay);
    const double old = past(envelope->driving, envelope->now, path->delay + 1);
    fill_means(path, path->drive, old, fresh, substeps, envelope->mean[i]);
  }
  if (envelope->machine_count == 0) {
    return;
  }
  double least[BW_SUBSTEPS_MAX];
  double most[BW_SUBSTEPS_MAX];
  spread(envelope, envelope->machine_count, substeps, least, most);
  for (size_t j = 0; j < substeps; j++) {
    envelope->low[j] -= most[j];
    envelope->high[j] -= least[j];
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

void bw_envelope_fill(struct bw_envelope *envelope, const struct bw_sample *sample) {
  bw_envelope_note(envelope, sample);
  use_substep(envelope, sample->substep);
  spread_demand(envelope, sample->substeps);
  bw_envelope_answer_demand(envelope);
  if (bw_envelope_has_drive(envelope)) {
    take_off_drive(envelope, sample->substeps);
    bw_envelope_answer_drive(envelope);
  }
}
