/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/fault_search.h"

#include <math.h>

/* rank; what starts must differ by for a search to make sense */
static const double SAME_RANK = 1e-9;
enum { SEEN_MAX = 1200 /* starts that are remembered */, STARTS_LEAST = 2 };

/* ------------------------------------------------------------------------------ the sound car */

static enum bw_status find_windows(const struct bw_case *loaded,
                                   const struct bw_fault_driver *driver, size_t decelerations,
                                   struct bw_fault_base *out, struct bw_diag *diag) {
  if (loaded->trace.kind != BW_TRACE_SPEED) {
    out->count = 1;
    out->window[0] = (struct bw_fault_window){.end = (double)INFINITY};
    return BW_OK;
  }
  struct bw_fault_drive look = {.until = (double)INFINITY, .wanted = decelerations};
  const enum bw_status status = driver->drive(driver->context, loaded, &look, diag);
  for (size_t i = 0; i < look.window_count; i++) {
    out->window[i] = look.window[i];
  }
  out->count = look.window_count;
  bw_fault_drive_free(&look);
  if (status == BW_OK && out->count == 0) {
    return bw_fail(diag, BW_E_USAGE,
                   "the sound car brakes nowhere for three control periods; name a cycle or "
                   "manoeuvre that brakes");
  }
  return status;
}

static enum bw_status drive_sound(struct bw_case *loaded, const struct bw_fault_driver *driver,
                                  size_t decelerations, struct bw_fault_base *out,
                                  struct bw_diag *diag) {
  BW_TRY(find_windows(loaded, driver, decelerations, out, diag));
  for (size_t i = 0; i < out->count; i++) {
    struct bw_fault_window *window = &out->window[i];
    struct bw_fault_drive *sound = &out->sound[i];
    *sound = (struct bw_fault_drive){.from = window->start, .until = window->end};
    BW_TRY(driver->drive(driver->context, loaded, sound, diag));
    if (sound->n < 3) {
      return bw_fail(diag, BW_E_USAGE,
                     "the manoeuvre is over after %zu control periods; lengthen it", sound->n);
    }
    window->end = sound->row[sound->n - 1].time;
  }
  return BW_OK;
}

enum bw_status bw_fault_base_make(struct bw_case *loaded, const struct bw_fault_driver *driver,
                                  size_t decelerations, struct bw_fault_base *out,
                                  struct bw_diag *diag) {
  BW_ASSERT(decelerations >= 1 && decelerations <= BW_FAULT_WINDOWS_MAX);
  const enum bw_fault_kind kind = loaded->fault.kind;
  loaded->fault.kind = BW_FAULT_NONE;
  const enum bw_status status = drive_sound(loaded, driver, decelerations, out, diag);
  loaded->fault.kind = kind;
  if (status != BW_OK) {
    bw_fault_base_free(out);
  }
  return status;
}

void bw_fault_base_free(struct bw_fault_base *base) {
  for (size_t i = 0; i < BW_FAULT_WINDOWS_MAX; i++) {
    bw_fault_drive_free(&base->sound[i]);
  }
  base->count = 0;
}

/* --------------------------------------------------------------------------------- the search */

struct search {
  struct bw_case *loaded;
  const struct bw_fault_base *base;
  const struct bw_fault_driver *driver;
  enum bw_fault_order order;
  struct bw_fault_drive hurt;
  size_t window; /* that is searched */
  double best;
  double lowest;
  struct bw_fault_worst *worst;
  size_t known; /* starts that were driven, in control periods, with their ranks */
  struct {
    double tick;
    double rank;
  } seen[SEEN_MAX];
  struct bw_diag *diag;
};

static enum bw_status drive_start(struct search *search, double tick, double *rank) {
  struct bw_case *loaded = search->loaded;
  const struct bw_fault_drive *sound = &search->base->sound[search->window];
  const bool is_cycle = loaded->trace.kind == BW_TRACE_SPEED;
  loaded->fault.start = tick * loaded->control_period;
  search->hurt.from = search->base->window[search->window].start;
  search->hurt.until = is_cycle ? search->base->window[search->window].end : (double)INFINITY;
  BW_TRY(search->driver->drive(search->driver->context, loaded, &search->hurt, search->diag));
  search->worst->runs++;
  struct bw_fault_effect effect;
  bw_fault_effect_find(loaded, sound, &search->hurt, &effect);
  *rank = bw_fault_effect_rank(&effect, search->order);
  search->lowest = fmin(search->lowest, *rank);
  if (*rank > search->best) {
    search->best = *rank;
    search->worst->effect = effect;
  }
  return BW_OK;
}

/* a start not driven before */
static enum bw_status try_start(struct search *search, double start, double *rank) {
  const double tick = floor(start / search->loaded->control_period);
  for (size_t i = 0; i < search->known; i++) {
    if (fabs(search->seen[i].tick - tick) < 0.5) {
      *rank = search->seen[i].rank;
      return BW_OK;
    }
  }
  BW_TRY(drive_start(search, tick, rank));
  if (search->known < SEEN_MAX) {
    search->seen[search->known].tick = tick;
    search->seen[search->known++].rank = *rank;
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

/* where the starts of a window lie */
struct stretch {
  double low;   /* s */
  double width; /* s between two starts */
  double high;  /* s */
  size_t count;
};

static struct stretch stretch_of(const struct search *search, size_t window, size_t moments) {
  const struct bw_fault_base *base = search->base;
  const size_t share = (moments + base->count - 1) / base->count;
  struct stretch stretch = {.low = base->window[window].start,
                            .count =
                                share < STARTS_LEAST && base->count > 1 ? STARTS_LEAST : share};
  /* half a period above the tick, so that rounding does not fall below it; the last period is
   * left out: the start must not come behind the end */
  const double period = search->loaded->control_period;
  const double span = (double)(base->sound[window].n - 2) * period;
  stretch.low += 0.5 * period;
  stretch.high = stretch.low + span;
  stretch.width = span / (double)stretch.count;
  return stretch;
}

static enum bw_status look_for(struct search *search, size_t moments) {
  size_t best_window = 0;
  size_t best_k = 0;
  for (size_t w = 0; w < search->base->count; w++) {
    const struct stretch stretch = stretch_of(search, w, moments);
    search->window = w;
    for (size_t k = 0; k < stretch.count; k++) {
      const double before = search->best;
      const double start = stretch.low + (double)k * stretch.width;
      double rank = 0.0;
      BW_TRY(try_start(search, start, &rank));
      if (rank > before) {
        best_window = w;
        best_k = k;
      }
    }
  }
  const bool is_flat = search->best - search->lowest <= SAME_RANK;
  if (is_flat && moments > 1) {
    return BW_OK;
  }
  const struct stretch stretch = stretch_of(search, best_window, moments);
  search->window = best_window;
  const double middle = stretch.low + (double)best_k * stretch.width;
  return narrow(search, fmax(stretch.low, middle - stretch.width),
                fmin(stretch.high, middle + stretch.width));
}

enum bw_status bw_fault_search(struct bw_case *loaded, const struct bw_fault_base *base,
                               const struct bw_fault_driver *driver, const struct bw_fault_aim *aim,
                               struct bw_fault_worst *worst, struct bw_diag *diag) {
  BW_ASSERT(aim->moments >= 1 && base->count >= 1);
  *worst = (struct bw_fault_worst){0};
  struct search search = {.loaded = loaded,
                          .base = base,
                          .driver = driver,
                          .order = aim->order,
                          .best = -(double)INFINITY,
                          .lowest = (double)INFINITY,
                          .worst = worst,
                          .diag = diag};
  const enum bw_status status = look_for(&search, aim->moments);
  bw_fault_drive_free(&search.hurt);
  loaded->fault.start = worst->effect.start;
  return status;
}
