/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/events.h"

#include "assess/growth.h"

#include <math.h>

/* shares of the first speed between which the mean fully developed deceleration is taken */
static const double MFDD_SPEED[2] = {0.8, 0.1};

struct bw_event bw_event_empty(void) {
  return (struct bw_event){.axle_margin_worst = (double)INFINITY};
}

struct bw_events bw_events_start(const struct bw_judge *judge) {
  const struct bw_assess_options *options = &judge->loaded->assess;
  const double torque = judge->mass * judge->radius;
  return (struct bw_events){
      .judge = judge,
      .on = options->event_on * torque,
      .off = options->event_off * torque,
      .gap = options->event_gap,
      .paused = bw_event_empty(),
      .remainder = bw_event_empty(),
  };
}

static void add(struct bw_event *sum, const struct bw_event *slice) {
  sum->distance += slice->distance;
  sum->deceleration_peak = bw_max(sum->deceleration_peak, slice->deceleration_peak);
  sum->demanded += slice->demanded;
  sum->delivered += slice->delivered;
  sum->machine_axle += slice->machine_axle;
  sum->battery += slice->battery;
  sum->friction_front += slice->friction_front;
  sum->friction_rear += slice->friction_rear;
  sum->recoverable_plant += slice->recoverable_plant;
  sum->recoverable_rule += slice->recoverable_rule;
  if (slice->dip_peak > sum->dip_peak) {
    sum->dip_peak = slice->dip_peak;
    sum->dip_peak_time = slice->dip_peak_time;
  }
  sum->surge_peak = bw_max(sum->surge_peak, slice->surge_peak);
  sum->time_above_felt += slice->time_above_felt;
  sum->speed_not_taken_off += slice->speed_not_taken_off;
  sum->gap_jerk_peak = bw_max(sum->gap_jerk_peak, slice->gap_jerk_peak);
  sum->axle_margin_worst = bw_min(sum->axle_margin_worst, slice->axle_margin_worst);
  sum->violation_time += slice->violation_time;
}

/* distances at which the speed falls through the two lines within this period */
static void find_crossings(struct bw_events *events, const struct bw_sample *sample) {
  const double v0 = sample->speed_start;
  const double v1 = sample->speed_end;
  for (int i = 0; i < 2; i++) {
    const double line = MFDD_SPEED[i] * events->now.speed_start;
    if (isnan(events->crossed[i]) && v0 >= line && v1 < line) {
      const double part = (v0 - line) * (v0 + line) / ((v0 - v1) * (v0 + v1));
      events->crossed[i] = events->travelled + part * sample->distance;
    }
  }
}

static double mfdd(const struct bw_events *events) {
  const double v0 = events->now.speed_start;
  const double way = events->crossed[1] - events->crossed[0];
  const double b = MFDD_SPEED[0] * v0;
  const double e = MFDD_SPEED[1] * v0;
  return isgreater(way, 0.0) ? (b * b - e * e) / (2.0 * way) : (double)NAN;
}

/* the event as it stands at the end of this period; what its check leaves is worked out when it
 * pauses or is over */
static void mark_end(struct bw_events *events, const struct bw_sample *sample) {
  events->now.end = sample->time + sample->duration;
  events->now.speed_end = sample->speed_end;
}

static enum bw_status close(struct bw_events *events, struct bw_diag *diag) {
  void *list = events->list;
  BW_TRY(bw_growth_reserve(&list, &events->capacity, events->count, sizeof *events->list, diag));
  events->list = list;
  struct bw_event *now = &events->now;
  if (!events->is_paused) {
    now->kinematic_residual = bw_kinematic_residual(&events->kinematic);
  }
  const double time = now->end - now->start;
  now->deceleration_mean = time > 0.0 ? (now->speed_start - now->speed_end) / time : 0.0;
  events->list[events->count++] = *now;
  add(&events->remainder, &events->paused);
  events->is_open = false;
  events->is_paused = false;
  return BW_OK;
}

static void open_event(struct bw_events *events, const struct bw_sample *sample) {
  events->is_open = true;
  events->is_paused = false;
  events->travelled = 0.0;
  events->crossed[0] = (double)NAN;
  events->crossed[1] = (double)NAN;
  events->kinematic = bw_kinematic_start(events->judge, sample->speed_start);
  events->paused = bw_event_empty();
  events->now = bw_event_empty();
  events->now.number = events->count + 1;
  events->now.start = sample->time;
  events->now.speed_start = sample->speed_start;
  events->now.stopping_distance = (double)NAN;
  events->now.mfdd = (double)NAN;
}

static enum bw_status stop_at_rest(struct bw_events *events, const struct bw_sample *sample,
                                   struct bw_diag *diag) {
  if (!events->is_paused) {
    events->now.stopping_distance = events->travelled;
    events->now.mfdd = mfdd(events);
    mark_end(events, sample);
  }
  return close(events, diag);
}

enum bw_status bw_events_watch(struct bw_events *events, const struct bw_sample *sample,
                               const struct bw_event *slice, struct bw_diag *diag) {
  if (!events->is_open) {
    if (!(sample->demand > events->on) || !bw_period_moves(sample)) {
      add(&events->remainder, slice);
      return BW_OK;
    }
    open_event(events, sample);
  }
  const double line = events->is_paused ? events->on : events->off;
  const bool is_on = sample->demand > line;
  if (!is_on && !events->is_paused) {
    /* should the pause prove to be the end, this period counts no more */
    events->now.kinematic_residual = bw_kinematic_residual(&events->kinematic);
  }
  bw_kinematic_watch(&events->kinematic, sample);
  find_crossings(events, sample);
  events->travelled += sample->distance;
  if (is_on) {
    if (events->is_paused) {
      add(&events->now, &events->paused);
      events->paused = bw_event_empty();
      events->is_paused = false;
    }
    add(&events->now, slice);
    mark_end(events, sample);
  } else {
    events->pause = events->is_paused ? events->pause + sample->duration : sample->duration;
    events->is_paused = true;
    add(&events->paused, slice);
  }
  if (!(sample->speed_end > 0.0)) {
    return stop_at_rest(events, sample, diag);
  }
  const bool is_over = events->is_paused && events->pause >= events->gap * (1.0 - 1e-9);
  return is_over ? close(events, diag) : BW_OK;
}

static void finish_row(struct bw_event *event) {
  if (!isfinite(event->axle_margin_worst)) {
    event->axle_margin_worst = (double)NAN;
  }
  if (!(event->dip_peak > 0.0)) {
    event->dip_peak_time = (double)NAN;
  }
}

/* longest stop and least deceleration of the events that end at rest */
static void fill_stops(const struct bw_events *events, struct bw_summary *summary) {
  double distance = (double)NAN;
  double least = (double)NAN;
  if (events->judge->loaded->trace.kind != BW_TRACE_SPEED) {
    for (size_t i = 0; i + 1 < events->count; i++) {
      /* the library's, not bw_max(): an event to which it does not apply has NaN, to be left out */
      distance = fmax(distance, events->list[i].stopping_distance);
      least = fmin(least, events->list[i].mfdd);
    }
  }
  summary->value[BW_SUMMARY_STOPPING_DISTANCE] = distance;
  summary->value[BW_SUMMARY_MFDD] = least;
}

static void fill_worst(const struct bw_events *events, struct bw_summary *summary) {
  const struct bw_event *worst = NULL;
  double residual = (double)NAN;
  for (size_t i = 0; i < events->count; i++) {
    const struct bw_event *event = &events->list[i];
    if (event->dip_peak > (worst != NULL ? worst->dip_peak : 0.0)) {
      worst = event;
    }
    residual = fmax(residual, event->kinematic_residual); /* leaves NaN out, see fill_stops() */
  }
  double *value = summary->value;
  value[BW_SUMMARY_WORST_EVENT] = worst != NULL ? (double)worst->number : (double)NAN;
  value[BW_SUMMARY_WORST_EVENT_TIME] = worst != NULL ? worst->dip_peak_time : (double)NAN;
  value[BW_SUMMARY_KINEMATIC_CHECK] = residual;
}

enum bw_status bw_events_finish(struct bw_events *events, struct bw_summary *summary,
                                struct bw_diag *diag) {
  if (events->is_open) {
    BW_TRY(close(events, diag));
  }
  void *list = events->list;
  BW_TRY(bw_growth_reserve(&list, &events->capacity, events->count, sizeof *events->list, diag));
  events->list = list;
  const double none = (double)NAN;
  struct bw_event *rest = &events->remainder;
  rest->number = 0;
  rest->start = rest->end = rest->speed_start = rest->speed_end = none;
  rest->deceleration_mean = rest->kinematic_residual = none;
  rest->stopping_distance = rest->mfdd = none;
  summary->value[BW_SUMMARY_BRAKING_EVENTS] = (double)events->count;
  events->list[events->count++] = *rest;
  for (size_t i = 0; i < events->count; i++) {
    finish_row(&events->list[i]);
  }
  fill_stops(events, summary);
  fill_worst(events, summary);
  return BW_OK;
}

void bw_events_free(struct bw_events *events) {
  bw_free(events->list);
  events->list = NULL;
  events->count = 0;
  events->capacity = 0;
}
