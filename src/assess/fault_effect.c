/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/fault_effect.h"

#include "alloc.h"
#include "assess/balance.h"

#include <math.h>

/* m/s; axle balance and slip below say nothing */
static const double SLOWEST = 1.0;
/* rank of one m/s2 gained, m */
static const double GAIN_RANK = 1e-3;

struct watcher {
  const struct bw_case *loaded;
  struct bw_fault_drive *drive;
};

static double balance_margin(const struct bw_case *loaded, const struct bw_sample *sample) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  const double weight = vehicle->load[vehicle->load_state].mass * BW_GRAVITY;
  const double force[2] = {sample->axle[0].brake_force, sample->axle[1].brake_force};
  const double load[2] = {sample->axle[0].load_level, sample->axle[1].load_level};
  if (!(sample->speed_end > SLOWEST) || !(force[0] + force[1] > 0.0) || !(load[0] > 0.0) ||
      !(load[1] > 0.0)) {
    return (double)NAN;
  }
  return bw_balance_check(force, load, weight, loaded->assess.balance_slope).margin;
}

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  const struct watcher *watcher = context;
  struct bw_fault_drive *drive = watcher->drive;
  if (drive->n == drive->room) {
    const size_t room = drive->room > 0 ? 2 * drive->room : 1024;
    struct bw_fault_row *row = bw_realloc(drive->row, room, sizeof *row);
    if (row == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "no memory for a manoeuvre; close other programs");
    }
    drive->row = row;
    drive->room = room;
  }
  const struct bw_case *loaded = watcher->loaded;
  struct bw_fault_row *row = &drive->row[drive->n++];
  *row = (struct bw_fault_row){.time = sample->time + sample->duration,
                               .speed = sample->speed_end,
                               .distance = sample->distance_start + sample->distance,
                               .mean = sample->deceleration,
                               .margin = balance_margin(loaded, sample)};
  double torque = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    torque += axle->machine_torque + axle->friction_torque;
    if (sample->speed_end > SLOWEST) {
      row->slip = fmax(row->slip, fmax(fabs(axle->slip), axle->slip_peak));
    }
  }
  row->shortfall =
      (sample->demand - torque) / (loaded->vehicle.tyre_radius * bw_case_effective_mass(loaded));
  return BW_OK;
}

enum bw_status bw_fault_drive_run(const struct bw_case *loaded,
                                  const struct bw_blend_strategy *strategy,
                                  struct bw_fault_drive *drive, struct bw_diag *diag) {
  struct watcher watcher = {loaded, drive};
  const struct bw_observer observer = {.context = &watcher, .watch = watch};
  double *params = bw_alloc(strategy->param_count + 1, sizeof *params);
  if (params == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory for a manoeuvre; close other programs");
  }
  bw_case_strategy_params(loaded, strategy, params);
  drive->n = 0;
  const enum bw_status status = bw_run(loaded, strategy, params, &observer, 1, diag);
  bw_free(params);
  return status;
}

void bw_fault_drive_free(struct bw_fault_drive *drive) {
  bw_free(drive->row);
  *drive = (struct bw_fault_drive){0};
}

static void look_at_row(const struct bw_case *loaded, const struct bw_fault_row *row,
                        const struct bw_fault_row *sound, struct bw_fault_effect *effect) {
  const double felt = loaded->assess.felt_deceleration;
  effect->slip_peak = fmax(effect->slip_peak, row->slip);
  effect->margin = fmin(effect->margin, row->margin); /* of a number and NaN, the number */
  if (row->speed > 0.0 && sound != NULL) {
    const double lost = sound->mean - row->mean;
    effect->lost = fmax(effect->lost, lost);
    effect->gained = fmax(effect->gained, -lost);
    effect->lost_time += lost > felt ? loaded->control_period : 0.0;
  }
}

/* speed where the sound car came to rest; between two ticks the square of it is straight */
static double speed_at(const struct bw_fault_drive *hurt, double distance) {
  for (size_t k = 1; k < hurt->n; k++) {
    const struct bw_fault_row *row = &hurt->row[k];
    const struct bw_fault_row *before = row - 1;
    if (row->distance > distance && row->distance > before->distance) {
      const double share = (distance - before->distance) / (row->distance - before->distance);
      const double first = before->speed * before->speed;
      return sqrt(fmax(0.0, first + share * (row->speed * row->speed - first)));
    }
  }
  return 0.0;
}

/* m/s2 by which the sound car misses its demand at `speed`, straight between two ticks; it slows
 * down, so `*at` only walks on */
static double sound_shortfall(const struct bw_fault_drive *sound, double speed, size_t *at) {
  while (*at + 1 < sound->n && sound->row[*at + 1].speed >= speed) {
    (*at)++;
  }
  const struct bw_fault_row *before = &sound->row[*at];
  if (*at + 1 >= sound->n || !(before->speed > sound->row[*at + 1].speed)) {
    return before->shortfall;
  }
  const struct bw_fault_row *after = before + 1;
  const double share = (before->speed - speed) / (before->speed - after->speed);
  return before->shortfall + fmin(1.0, fmax(0.0, share)) * (after->shortfall - before->shortfall);
}

void bw_fault_effect_find(const struct bw_case *loaded, const struct bw_fault_drive *sound,
                          const struct bw_fault_drive *hurt, struct bw_fault_effect *effect) {
  const double start = loaded->fault.start;
  const struct bw_fault_row *end = &hurt->row[hurt->n - 1];
  const struct bw_fault_row *rest = &sound->row[sound->n - 1];
  *effect = (struct bw_fault_effect){
      .start = start, .speed = loaded->driver.initial_speed, .margin = (double)NAN};
  double met = start;
  size_t at = 0;
  for (size_t k = 0; k < hurt->n; k++) {
    const struct bw_fault_row *row = &hurt->row[k];
    if (row->time <= start) {
      effect->speed = row->speed;
      continue;
    }
    look_at_row(loaded, row, k + 1 < sound->n ? &sound->row[k] : NULL, effect);
    /* the sound car's own hand-overs come at the same speed and are no part of the fault */
    const double own = fmax(0.0, sound_shortfall(sound, row->speed, &at));
    const bool is_short = row->shortfall - own > loaded->assess.felt_deceleration;
    met = row->speed > 0.0 && is_short ? row->time : met;
  }
  const bool is_short_to_the_end = end->speed > 0.0 && met >= end->time;
  effect->until_met = is_short_to_the_end ? (double)NAN : met - start;
  effect->way = end->distance - rest->distance;
  effect->more_way = end->speed > 0.0 || rest->speed > 0.0 ? (double)NAN : effect->way;
  effect->speed_left = speed_at(hurt, rest->distance);
}

double bw_fault_effect_rank(const struct bw_fault_effect *effect) {
  return fmax(0.0, effect->way) + GAIN_RANK * effect->gained;
}

/* ------------------------------------------------------------------------------------------- */

struct search {
  struct bw_case *loaded;
  const struct bw_blend_strategy *strategy;
  struct bw_fault_drive sound;
  struct bw_fault_drive hurt;
  struct bw_fault_effect *worst;
  double best;
  struct bw_diag *diag;
};

static enum bw_status try_start(struct search *search, double start, double *rank) {
  struct bw_case *loaded = search->loaded;
  loaded->fault.start = floor(start / loaded->control_period) * loaded->control_period;
  BW_TRY(bw_fault_drive_run(loaded, search->strategy, &search->hurt, search->diag));
  struct bw_fault_effect effect;
  bw_fault_effect_find(loaded, &search->sound, &search->hurt, &effect);
  *rank = bw_fault_effect_rank(&effect);
  if (*rank > search->best) {
    search->best = *rank;
    *search->worst = effect;
  }
  return BW_OK;
}

static enum bw_status narrow(struct search *search, double low, double high) {
  const double golden = 0.5 * (sqrt(5.0) - 1.0);
  double left = high - golden * (high - low);
  double right = low + golden * (high - low);
  double rank_left = 0.0;
  double rank_right = 0.0;
  BW_TRY(try_start(search, left, &rank_left));
  BW_TRY(try_start(search, right, &rank_right));
  while (high - low > 2.0 * search->loaded->control_period) {
    if (rank_left >= rank_right) {
      high = right;
      right = left;
      rank_right = rank_left;
      left = high - golden * (high - low);
      BW_TRY(try_start(search, left, &rank_left));
    } else {
      low = left;
      left = right;
      rank_left = rank_right;
      right = low + golden * (high - low);
      BW_TRY(try_start(search, right, &rank_right));
    }
  }
  return BW_OK;
}

static enum bw_status look_for(struct search *search, size_t moments) {
  struct bw_case *loaded = search->loaded;
  const enum bw_fault_kind kind = loaded->fault.kind;
  loaded->fault.kind = BW_FAULT_NONE;
  const enum bw_status status =
      bw_fault_drive_run(loaded, search->strategy, &search->sound, search->diag);
  loaded->fault.kind = kind;
  BW_TRY(status);
  if (search->sound.n < 3) {
    return bw_fail(search->diag, BW_E_USAGE,
                   "the manoeuvre is over after %zu control periods; "
                   "lengthen it",
                   search->sound.n);
  }
  /* the last period is left out: rounding must not put the start behind the end */
  const double span = (double)(search->sound.n - 2) * loaded->control_period;
  size_t best = 0;
  for (size_t k = 0; k < moments; k++) {
    const double before = search->best;
    double rank = 0.0;
    BW_TRY(try_start(search, span * (double)k / (double)moments, &rank));
    best = rank > before ? k : best;
  }
  const double width = span / (double)moments;
  const double low = best > 0 ? ((double)best - 1.0) * width : 0.0;
  return narrow(search, low, fmin(span, ((double)best + 1.0) * width));
}

enum bw_status bw_fault_effect_worst(struct bw_case *loaded,
                                     const struct bw_blend_strategy *strategy, size_t moments,
                                     struct bw_fault_effect *worst, struct bw_diag *diag) {
  if (loaded->trace.kind == BW_TRACE_SPEED || moments == 0) {
    return bw_fail(diag, BW_E_USAGE,
                   "'%.100s' is a cycle, which has no stopping distance; name a manoeuvre "
                   "(time_s,decel_mps2 or a pedal) in cycle.name",
                   loaded->trace.name);
  }
  struct search search = {
      .loaded = loaded, .strategy = strategy, .worst = worst, .best = -1.0, .diag = diag};
  const enum bw_status status = look_for(&search, moments);
  bw_fault_drive_free(&search.sound);
  bw_fault_drive_free(&search.hurt);
  if (status == BW_OK) {
    loaded->fault.start = worst->start;
  }
  return status;
}
