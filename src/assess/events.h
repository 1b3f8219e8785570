/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_EVENTS_H
#define BW_EVENTS_H

#include "assess/evaluate.h"
#include "assess/kinematic.h"

/** Braking events: demand above event_on (m/s2 of m r) opens one, below event_off it pauses; a
 *  pause shorter than event_gap is taken in, a longer one ended the event where it began. Rest
 *  ends it too. What the braking phase did outside events is collected in row 0, so that the
 *  rows sum to the summary.
 *
 *  For events that end at rest: stopping distance from the event's start, and the mean fully
 *  developed deceleration (v_b^2 - v_e^2) / (2 (s_e - s_b)) with v_b = 0.8 v0, v_e = 0.1 v0, as
 *  read in UN GRRF-56-3 (draft for R13 Annex 4) with v in km/h; crossings are interpolated at
 *  constant deceleration within a period. */
struct bw_events {
  const struct bw_judge *judge;
  double on;  /**< N m */
  double off; /**< N m */
  double gap; /**< s */
  bool is_open;
  bool is_paused;
  double pause;      /**< s */
  double travelled;  /**< m since the event's start */
  double crossed[2]; /**< m at 0.8 and 0.1 of the first speed, NaN until crossed */
  struct bw_kinematic kinematic;
  struct bw_event now;
  struct bw_event paused; /**< what the pause has added so far */
  struct bw_event remainder;
  size_t count;
  size_t capacity;
  struct bw_event *list; /**< (count) owned */
};

struct bw_events bw_events_start(const struct bw_judge *judge);

/** Take in one period with what it adds: additive fields and peaks of `slice`; `slice->demanded`
 *  and so on are 0 outside the braking phase. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_events_watch(struct bw_events *events,
                                             const struct bw_sample *sample,
                                             const struct bw_event *slice, struct bw_diag *diag);

/** Number of the event that is open or paused, 0 if none. */
static inline size_t bw_events_current(const struct bw_events *events) {
  return events->is_open ? events->now.number : 0;
}

/** A slice that adds nothing: zeros, and an infinite axle margin. */
struct bw_event bw_event_empty(void);

/** Close an open event, put the remainder last and fill the summary's columns. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_events_finish(struct bw_events *events, struct bw_summary *summary,
                                              struct bw_diag *diag);

void bw_events_free(struct bw_events *events);

#endif
