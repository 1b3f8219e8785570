/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/fault_effect.h"

#include <math.h>
#include <string.h>

/* m per m/s2 and 1 per m: far below what a cell is judged by */
static const double TIE_GAIN = 1e-3;
static const double TIE_WAY = 1e-6;
/* s; longer than any deceleration, so that 'never' ranks above all */
static const double NEVER = 1e6;
/* rank where axle balance is not judged */
static const double UNJUDGED = -1e3;

/* from when on a fault acts */
static double acts_from(const struct bw_fault *fault) {
  return fault->kind == BW_FAULT_CONTACTOR_OPEN ? fault->start - fault->lead : fault->start;
}

static void compare_motion(const struct bw_case *loaded, const struct bw_fault_row *row,
                           const struct bw_fault_row *sound, struct bw_fault_effect *effect) {
  const double felt = loaded->assess.felt_deceleration;
  const double faster = row->speed - (sound != NULL ? sound->speed : 0.0);
  effect->lost_speed = fmax(effect->lost_speed, faster);
  effect->gained_speed = fmax(effect->gained_speed, -faster);
  if (row->speed > 0.0 && sound != NULL && sound->speed > 0.0) {
    const double lost = sound->mean - row->mean;
    effect->lost = fmax(effect->lost, lost);
    effect->lost_time += lost > felt ? loaded->control_period : 0.0;
    effect->gained = fmax(effect->gained, -lost);
    effect->gained_time += -lost > felt ? loaded->control_period : 0.0;
  }
}

static void look_at_axles(const struct bw_case *loaded, const struct bw_fault_row *row,
                          struct bw_fault_effect *effect) {
  effect->slip = fmax(effect->slip, row->slip);
  effect->lock_time += row->lock;
  effect->margin = fmin(effect->margin, row->margin); /* of a number and NaN, the number */
  effect->violation_time += row->margin < 0.0 ? loaded->control_period : 0.0;
  effect->rear_first_time += row->is_rear_first ? loaded->control_period : 0.0;
}

/* speed at a place; between two ticks the square of it is straight; 0: not reached */
static double speed_at(const struct bw_fault_drive *hurt, double distance) {
  for (size_t k = 1; k < hurt->n; k++) {
    const struct bw_fault_row *row = &hurt->row[k];
    const struct bw_fault_row *before = row - 1;
    if (row->distance > distance && row->distance > before->distance) {
      const double share =
          fmax(0.0, distance - before->distance) / (row->distance - before->distance);
      const double first = before->speed * before->speed;
      return sqrt(fmax(0.0, first + share * (row->speed * row->speed - first)));
    }
  }
  return 0.0;
}

static bool is_passed(const struct bw_fault_drive *drive, size_t k, double speed) {
  const double first = drive->row[k].speed;
  const double last = drive->row[k + 1].speed;
  return fmin(first, last) <= speed && speed <= fmax(first, last);
}

/* the two ticks between which the sound car passes `speed`, nearest to those of the tick before:
 * downhill without grip it does so more than once */
static size_t find_passing(const struct bw_fault_drive *sound, double speed, size_t before) {
  for (size_t off = 0; off < sound->n; off++) {
    if (before + off + 1 < sound->n && is_passed(sound, before + off, speed)) {
      return before + off;
    }
    if (off <= before && before - off + 1 < sound->n && is_passed(sound, before - off, speed)) {
      return before - off;
    }
  }
  return speed > sound->row[0].speed ? 0 : sound->n - 1;
}

/* m/s2 by which the sound car misses its demand at the speed that the other one has at tick `k`,
 * straight between two ticks */
static double sound_shortfall(const struct bw_fault_drive *sound, double speed, size_t k,
                              size_t *at) {
  if (k < sound->n && !(fabs(sound->row[k].speed - speed) > 0.0)) {
    *at = k;
    return sound->row[k].shortfall; /* the fault has done nothing yet */
  }
  *at = find_passing(sound, speed, *at);
  const struct bw_fault_row *before = &sound->row[*at];
  if (*at + 1 >= sound->n || !(fabs(before->speed - before[1].speed) > 0.0)) {
    return before->shortfall;
  }
  const struct bw_fault_row *after = before + 1;
  const double share = (before->speed - speed) / (before->speed - after->speed);
  return before->shortfall + fmin(1.0, fmax(0.0, share)) * (after->shortfall - before->shortfall);
}

static double find_until_met(const struct bw_case *loaded, const struct bw_fault_drive *sound,
                             const struct bw_fault_drive *hurt) {
  const double start = loaded->fault.start;
  const double from = acts_from(&loaded->fault);
  double met = start;
  size_t at = 0;
  for (size_t k = 0; k < hurt->n; k++) {
    const struct bw_fault_row *row = &hurt->row[k];
    if (row->time <= from) {
      continue;
    }
    /* the sound car's own hand-overs come at the same speed and are no part of the fault */
    const double own = fmax(0.0, sound_shortfall(sound, row->speed, k, &at));
    const bool is_short = row->shortfall - own > loaded->assess.felt_deceleration;
    met = row->speed > 0.0 && is_short ? row->time : met;
  }
  const struct bw_fault_row *end = &hurt->row[hurt->n - 1];
  return end->speed > 0.0 && met >= end->time ? (double)NAN : fmax(0.0, met - start);
}

/* what the sound car's axles did in the same time */
static void look_at_sound(const struct bw_case *loaded, const struct bw_fault_drive *sound,
                          double from, struct bw_fault_effect *effect) {
  struct bw_fault_effect own = {.margin = (double)NAN};
  for (size_t k = 0; k < sound->n; k++) {
    if (sound->row[k].time > from) {
      look_at_axles(loaded, &sound->row[k], &own);
    }
  }
  effect->slip_sound = own.slip;
  effect->lock_time_sound = own.lock_time;
  effect->margin_sound = own.margin;
}

void bw_fault_effect_find(const struct bw_case *loaded, const struct bw_fault_drive *sound,
                          const struct bw_fault_drive *hurt, struct bw_fault_effect *effect) {
  const double from = acts_from(&loaded->fault);
  const struct bw_fault_row *end = &hurt->row[hurt->n - 1];
  const struct bw_fault_row *rest = &sound->row[sound->n - 1];
  *effect = (struct bw_fault_effect){
      .start = loaded->fault.start, .end = end->time, .speed = hurt->speed, .margin = (double)NAN};
  for (size_t k = 0; k < hurt->n; k++) {
    const struct bw_fault_row *row = &hurt->row[k];
    effect->speed = row->time <= loaded->fault.start ? row->speed : effect->speed;
    if (row->time > from) {
      compare_motion(loaded, row, k < sound->n ? &sound->row[k] : NULL, effect);
      look_at_axles(loaded, row, effect);
    }
  }
  look_at_sound(loaded, sound, from, effect);
  effect->until_met = find_until_met(loaded, sound, hurt);
  effect->way = end->distance - rest->distance;
  effect->more_way = end->speed > 0.0 || rest->speed > 0.0 ? (double)NAN : effect->way;
  effect->speed_left = fmax(0.0, speed_at(hurt, rest->distance) - rest->speed);
}

static const char *const ORDERS[BW_FAULT_ORDER_COUNT] = {
    [BW_FAULT_BY_WAY] = "way",   [BW_FAULT_BY_SPEED] = "speed",    [BW_FAULT_BY_LOSS] = "loss",
    [BW_FAULT_BY_GAIN] = "gain", [BW_FAULT_BY_SLIP] = "slip",      [BW_FAULT_BY_LOCK] = "lock",
    [BW_FAULT_BY_TIME] = "time", [BW_FAULT_BY_BALANCE] = "balance"};

const char *bw_fault_order_name(enum bw_fault_order order) {
  BW_ASSERT(order < BW_FAULT_ORDER_COUNT);
  return ORDERS[order];
}

enum bw_fault_order bw_fault_order_find(const char *name) {
  size_t i = 0;
  while (i < BW_FAULT_ORDER_COUNT && strcmp(ORDERS[i], name) != 0) {
    i++;
  }
  return (enum bw_fault_order)i;
}

static double first_measure(const struct bw_fault_effect *effect, enum bw_fault_order order) {
  switch (order) {
  case BW_FAULT_BY_SPEED:
    return effect->speed_left;
  case BW_FAULT_BY_LOSS:
    return effect->lost;
  case BW_FAULT_BY_GAIN:
    return effect->gained;
  case BW_FAULT_BY_SLIP:
    return effect->slip;
  case BW_FAULT_BY_LOCK:
    return effect->lock_time;
  case BW_FAULT_BY_BALANCE:
    return isfinite(effect->margin) ? -effect->margin : UNJUDGED;
  case BW_FAULT_BY_TIME:
    return isfinite(effect->until_met) ? effect->until_met : NEVER;
  case BW_FAULT_BY_WAY:
  case BW_FAULT_ORDER_COUNT:
    break;
  }
  return fmax(0.0, effect->way);
}

double bw_fault_effect_rank(const struct bw_fault_effect *effect, enum bw_fault_order order) {
  const double tie =
      order == BW_FAULT_BY_WAY ? TIE_GAIN * effect->gained : TIE_WAY * fmax(0.0, effect->way);
  return first_measure(effect, order) + tie;
}
