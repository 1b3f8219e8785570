/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/handover.h"

#include "assess/growth.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>

/* the finder's lines, model of hand-overs in DEVELOPERS.md */
static const double DEMAND_LEAST = 0.2;    /* m/s2 */
static const double SHARE_START = 0.05;    /* 1 */
static const double SHARE_SETTLED = 0.02;  /* 1 */
static const double FELT_SETTLED = 0.2;    /* of the felt line */
static const double SETTLED_TIME = 0.2;    /* s */
static const double EXCHANGE_LEAST = 0.05; /* m/s2 */
static const double AT_LIMIT = 0.98;       /* of the torque available */

struct bw_handover_finder bw_handover_start(const struct bw_judge *judge) {
  return (struct bw_handover_finder){
      .demand_least = DEMAND_LEAST * judge->mass * judge->radius,
      .per_torque = 1.0 / (judge->mass * judge->radius),
      .felt = judge->loaded->assess.felt_deceleration,
  };
}

static double period_end(const struct bw_sample *sample) {
  return sample->time + sample->duration;
}

static void begin(struct bw_handover_finder *finder, const struct bw_sample *sample, double share) {
  finder->now = (struct bw_handover){
      .start = period_end(sample),
      .speed_start = sample->speed_end,
      .share_start = share,
  };
  finder->exchange = 0.0;
  finder->jerk_squares = 0.0;
  finder->jerk_time = 0.0;
}

static void restart_window(struct bw_handover_finder *finder, const struct bw_sample *sample,
                           double share, double excess) {
  finder->window_share = share;
  finder->window_excess = excess;
  finder->window_time = 0.0;
  finder->window = finder->now;
  finder->window.end = period_end(sample);
  finder->window.speed_end = sample->speed_end;
  finder->window.share_end = share;
}

static void settle(struct bw_handover_finder *finder, const struct bw_sample *sample, double share,
                   double excess) {
  finder->is_open = false;
  finder->has_settled = true;
  finder->settled = share;
  begin(finder, sample, share);
  restart_window(finder, sample, share, excess);
}

/* the limit that the larger of the machines at its limit is held by */
static enum bw_limit find_cause(const struct bw_sample *sample) {
  enum bw_limit cause = BW_LIMIT_NONE;
  double largest = -1.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    const bool is_at_limit = axle->machine_request >= AT_LIMIT * axle->available;
    if (is_at_limit && axle->limit != BW_LIMIT_NONE && axle->envelope > largest) {
      largest = axle->envelope;
      /* both machines together may meet the battery first */
      const bool is_shared = axle->available < AT_LIMIT * axle->available_alone;
      cause = is_shared ? sample->charge_limit : axle->limit;
    }
  }
  return cause;
}

static void accumulate(struct bw_handover_finder *finder, const struct bw_sample *sample,
                       const struct bw_gap_period *gap) {
  struct bw_handover *now = &finder->now;
  now->dip_peak = bw_max(now->dip_peak, gap->dip_peak);
  now->surge_peak = bw_max(now->surge_peak, gap->surge_peak);
  now->jerk_peak = bw_max(now->jerk_peak, gap->jerk_peak);
  now->time_above_felt += gap->felt_time;
  now->added_distance += (now->speed_not_taken_off + 0.5 * gap->excess_speed) * sample->duration;
  now->speed_not_taken_off += gap->excess_speed;
  finder->jerk_squares += gap->jerk_squares;
  finder->jerk_time += gap->time;
}

/* put the open hand-over on the list; end, speed and share at the end as in `at_end` */
static enum bw_status store(struct bw_handover_finder *finder, const struct bw_handover *at_end,
                            double steady_step, struct bw_diag *diag) {
  finder->is_open = false;
  if (!(finder->exchange * finder->per_torque >= EXCHANGE_LEAST)) {
    return BW_OK;
  }
  void *list = finder->list;
  BW_TRY(bw_growth_reserve(&list, &finder->capacity, finder->count, sizeof *finder->list, diag));
  finder->list = list;
  struct bw_handover done = finder->now;
  done.end = at_end->end;
  done.speed_end = at_end->speed_end;
  done.share_end = at_end->share_end;
  done.added_distance = at_end->added_distance;
  done.steady_step = steady_step;
  done.jerk_rms = finder->jerk_time > 0.0 ? sqrt(finder->jerk_squares / finder->jerk_time) : 0.0;
  finder->list[finder->count++] = done;
  return BW_OK;
}

/* braking ended, or the car is nearly at rest: whatever is open ends here */
static enum bw_status lose(struct bw_handover_finder *finder, struct bw_diag *diag) {
  finder->has_settled = false;
  if (!finder->is_open) {
    return BW_OK;
  }
  return store(finder, &finder->now, (double)NAN, diag);
}

static void open_handover(struct bw_handover_finder *finder, const struct bw_sample *sample,
                          size_t event) {
  finder->is_open = true;
  finder->now.event = event;
  finder->now.cause = find_cause(sample);
}

static enum bw_status follow(struct bw_handover_finder *finder, const struct bw_sample *sample,
                             double share, double excess, struct bw_diag *diag) {
  const bool is_steady = fabs(share - finder->window_share) <= SHARE_SETTLED &&
                         fabs(excess - finder->window_excess) <= FELT_SETTLED * finder->felt;
  if (!is_steady) {
    restart_window(finder, sample, share, excess);
    return BW_OK;
  }
  finder->window_time += sample->duration;
  if (!(finder->window_time >= SETTLED_TIME * (1.0 - 1e-9))) {
    return BW_OK;
  }
  if (finder->is_open) {
    BW_TRY(store(finder, &finder->window, excess, diag));
  }
  settle(finder, sample, share, excess);
  return BW_OK;
}

enum bw_status bw_handover_watch(struct bw_handover_finder *finder, const struct bw_sample *sample,
                                 const struct bw_period *period, const struct bw_gap_period *gap,
                                 size_t event, struct bw_diag *diag) {
  if (!(sample->demand > finder->demand_least) || !period->is_felt || !(gap->time > 0.0)) {
    return lose(finder, diag);
  }
  const double request = bw_max(0.0, sample->axle[BW_FRONT].machine_request) +
                         bw_max(0.0, sample->axle[BW_REAR].machine_request);
  const double share = request / sample->demand;
  const double excess = gap->excess_speed / gap->time;
  if (!finder->has_settled) {
    settle(finder, sample, share, excess);
    return BW_OK;
  }
  const double away = fabs(share - finder->settled);
  if (!finder->is_open && away <= SHARE_SETTLED) {
    begin(finder, sample, finder->settled);
  } else {
    accumulate(finder, sample, gap);
  }
  finder->exchange = bw_max(finder->exchange, away * sample->demand);
  if (!finder->is_open && away > SHARE_START) {
    open_handover(finder, sample, event);
  }
  finder->now.end = period_end(sample);
  finder->now.speed_end = sample->speed_end;
  finder->now.share_end = share;
  return follow(finder, sample, share, excess, diag);
}

static double dip_percentile(const struct bw_handover_finder *finder, double *sorted) {
  for (size_t i = 0; i < finder->count; i++) {
    sorted[i] = finder->list[i].dip_peak;
  }
  gsl_sort(sorted, 1, finder->count);
  return gsl_stats_quantile_from_sorted_data(sorted, 1, finder->count, 0.95);
}

enum bw_status bw_handover_finish(struct bw_handover_finder *finder, struct bw_summary *summary,
                                  struct bw_diag *diag) {
  BW_TRY(lose(finder, diag));
  summary->value[BW_SUMMARY_HANDOVERS] = (double)finder->count;
  summary->value[BW_SUMMARY_DIP_P95] = (double)NAN;
  if (finder->count == 0) {
    return BW_OK;
  }
  double *sorted = bw_alloc(finder->count, sizeof *sorted);
  if (sorted == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory to sort %zu hand-overs", finder->count);
  }
  summary->value[BW_SUMMARY_DIP_P95] = dip_percentile(finder, sorted);
  bw_free(sorted);
  return BW_OK;
}

void bw_handover_free(struct bw_handover_finder *finder) {
  bw_free(finder->list);
  finder->list = NULL;
  finder->count = 0;
  finder->capacity = 0;
}
