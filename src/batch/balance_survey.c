/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/balance_survey.h"

#include "alloc.h"
#include "batch/assess_stops.h"
#include "sim/probe.h"

#include <math.h>
#include <string.h>

static const double KMH = 1.0 / 3.6;
static const double SPEEDS_KMH[BW_SURVEY_SPEEDS] = {10.0, 20.0, 30.0, 50.0, 80.0, 110.0, 140.0};
static const double OTHER_CHARGES[] = {0.1, 0.5, 0.9, 0.95};
static const double GRIPS[BW_SURVEY_GRIPS] = {0.1, 0.2, 0.3, 0.5, 0.8};
/* z: no braking rate is raised by less */
static const double NO_RISE = 1e-6;
/* z of demand: where a first lock is found to */
static const double LOCK_RESOLUTION = 1e-9;

enum {
  /* demands up to twice the last rate: coupled brakes without regeneration give half */
  DEMANDS = 81,
  LOCK_TRIALS = 40
};

/* delivered rates and adhesion used, one setting, demand k x step */
struct curve {
  int n;
  double rate[DEMANDS];
  double used[2][DEMANDS];
};

struct survey_work {
  struct bw_prober *prober;
  struct bw_balance_survey *out;
  enum bw_load_state load;
  int charge; /* enum bw_stop_charge, or BW_SURVEY_ANY alone */
  struct bw_probe_setting setting;
  double slope;
  struct curve curve;
};

double bw_survey_rate(int k) {
  return BW_SURVEY_STEP * (double)(k + 2);
}

double bw_survey_grip(int i) {
  return GRIPS[i];
}

static double told_charge(const struct survey_work *work) {
  return work->setting.has_regeneration ? work->setting.charge : (double)NAN;
}

static enum bw_status probe(struct survey_work *work, double demand, struct bw_probe_result *found,
                            struct bw_diag *diag) {
  BW_TRY(bw_probe(work->prober, &work->setting, demand, found, diag));
  work->out->probes++;
  work->out->unsettled += found->is_settled ? 0 : 1;
  return BW_OK;
}

/* raise the demand until the last rate is reached or no more comes */
static enum bw_status trace_curve(struct survey_work *work, struct bw_diag *diag) {
  struct curve *curve = &work->curve;
  double reached = 0.0;
  curve->n = 1;
  curve->rate[0] = curve->used[0][0] = curve->used[1][0] = 0.0;
  while (curve->n < DEMANDS && reached < bw_survey_rate(BW_SURVEY_RATES - 1) - NO_RISE) {
    struct bw_probe_result found;
    BW_TRY(probe(work, BW_SURVEY_STEP * (double)curve->n, &found, diag));
    if (!(found.rate > reached + NO_RISE)) {
      break;
    }
    reached = found.rate;
    curve->rate[curve->n] = found.rate;
    curve->used[0][curve->n] = found.used[0];
    curve->used[1][curve->n] = found.used[1];
    curve->n++;
  }
  return BW_OK;
}

static void widen(struct survey_work *work, int k, const double used[2]) {
  const int into[2] = {work->charge, BW_SURVEY_ANY};
  for (int j = 0; j < 2; j++) {
    struct bw_survey_band *band = &work->out->band[work->load][into[j]][k];
    for (int i = 0; i < 2; i++) {
      band->low[i] = fmin(band->low[i], used[i]);
      band->high[i] = fmax(band->high[i], used[i]);
    }
  }
}

/* a rate that was met is taken as it is, another one from the straight line between neighbours */
static void add_to_bands(struct survey_work *work) {
  const struct curve *curve = &work->curve;
  int at = 1;
  for (int k = 0; k < BW_SURVEY_RATES; k++) {
    const double rate = bw_survey_rate(k);
    while (at < curve->n && curve->rate[at] < rate - NO_RISE) {
      at++;
    }
    if (at >= curve->n) {
      return;
    }
    const double part =
        fmin(1.0, (rate - curve->rate[at - 1]) / (curve->rate[at] - curve->rate[at - 1]));
    double used[2];
    for (int i = 0; i < 2; i++) {
      const double before = curve->used[i][at - 1];
      used[i] = part >= 1.0 ? curve->used[i][at] : before + part * (curve->used[i][at] - before);
    }
    widen(work, k, used);
  }
}

static void keep_worst(struct survey_work *work, int rule, const struct bw_survey_worst *now) {
  const int into[2] = {work->charge, BW_SURVEY_ANY};
  for (int j = 0; j < 2; j++) {
    struct bw_survey_worst *worst = &work->out->worst[work->load][into[j]][rule];
    if (!worst->is_found || now->limit - now->result < worst->limit - worst->result) {
      *worst = *now;
    }
  }
}

static void hold_against_rules(struct survey_work *work) {
  const struct curve *curve = &work->curve;
  for (int k = 1; k < curve->n; k++) {
    const double used[2] = {curve->used[0][k], curve->used[1][k]};
    struct bw_survey_worst now = {.is_found = true,
                                  .rate = curve->rate[k],
                                  .speed = work->setting.speed,
                                  .charge = told_charge(work)};
    for (int rule = 0; rule < BW_BALANCE_RULE_COUNT; rule++) {
      if (bw_balance_rule_look((enum bw_balance_rule)rule, work->slope, now.rate, used, &now.limit,
                               &now.result)) {
        keep_worst(work, rule, &now);
      }
    }
  }
}

static double over_grip(const double used[2], double grip) {
  return fmax(used[0], used[1]) - grip;
}

static bool is_rear_early(const struct bw_survey_lock *lock) {
  return lock->axle == BW_REAR && lock->rate >= 0.15 && lock->rate <= 0.8;
}

/* the first lock between two demands, by halving: strategies may jump */
static enum bw_status find_lock(struct survey_work *work, double grip, double low, double high,
                                struct bw_survey_lock *lock, struct bw_diag *diag) {
  struct bw_probe_result found;
  for (int i = 0; i < LOCK_TRIALS && high - low > LOCK_RESOLUTION; i++) {
    const double middle = 0.5 * (low + high);
    BW_TRY(probe(work, middle, &found, diag));
    if (over_grip(found.used, grip) >= 0.0) {
      high = middle;
    } else {
      low = middle;
    }
  }
  BW_TRY(probe(work, high, &found, diag));
  *lock = (struct bw_survey_lock){.is_found = true,
                                  .axle = found.used[1] > found.used[0] ? BW_REAR : BW_FRONT,
                                  .rate = found.rate,
                                  .used = {found.used[0], found.used[1]},
                                  .speed = work->setting.speed,
                                  .charge = told_charge(work),
                                  .demand = high};
  return BW_OK;
}

/* coarse: from the curve alone; worst of the settings */
static void look_for_locks(struct survey_work *work) {
  const struct curve *curve = &work->curve;
  for (int g = 0; g < BW_SURVEY_GRIPS; g++) {
    int k = 1;
    while (k < curve->n && fmax(curve->used[0][k], curve->used[1][k]) < GRIPS[g]) {
      k++;
    }
    if (k >= curve->n) {
      continue;
    }
    const double before = fmax(curve->used[0][k - 1], curve->used[1][k - 1]);
    const double after = fmax(curve->used[0][k], curve->used[1][k]);
    const double part = (GRIPS[g] - before) / (after - before);
    struct bw_survey_lock now = {.is_found = true,
                                 .rate = curve->rate[k - 1] +
                                         part * (curve->rate[k] - curve->rate[k - 1]),
                                 .speed = work->setting.speed,
                                 .charge = told_charge(work),
                                 .demand = BW_SURVEY_STEP * (double)k};
    for (int i = 0; i < 2; i++) {
      now.used[i] = curve->used[i][k - 1] + part * (curve->used[i][k] - curve->used[i][k - 1]);
    }
    now.axle = now.used[1] > now.used[0] ? BW_REAR : BW_FRONT;
    struct bw_survey_lock *worst = &work->out->lock[work->load][g];
    const bool is_worse =
        is_rear_early(&now) == is_rear_early(worst) ? now.rate < worst->rate : is_rear_early(&now);
    if (!worst->is_found || is_worse) {
      *worst = now;
    }
  }
}

/* the worst ones again, exactly */
static enum bw_status refine_locks(struct survey_work *work, struct bw_diag *diag) {
  for (int g = 0; g < BW_SURVEY_GRIPS; g++) {
    struct bw_survey_lock *lock = &work->out->lock[work->load][g];
    if (lock->is_found) {
      work->setting.speed = lock->speed;
      work->setting.has_regeneration = isfinite(lock->charge);
      work->setting.charge = isfinite(lock->charge) ? lock->charge : work->setting.charge;
      const double high = lock->demand;
      BW_TRY(find_lock(work, GRIPS[g], high - BW_SURVEY_STEP, high, lock, diag));
    }
  }
  return BW_OK;
}

static enum bw_status survey_setting(struct survey_work *work, struct bw_diag *diag) {
  BW_TRY(trace_curve(work, diag));
  add_to_bands(work);
  hold_against_rules(work);
  look_for_locks(work);
  return BW_OK;
}

/* all charges at one speed; without a machine charge makes no difference */
static enum bw_status survey_charges(const struct bw_case *loaded, bool has_machine,
                                     struct survey_work *work, struct bw_diag *diag) {
  const double own = loaded->battery.start_charge;
  const double named[] = {1.0, own, own};
  for (int i = has_machine ? BW_STOP_CHARGE_FULL : BW_STOP_CHARGE_NONE; i < BW_SURVEY_ANY; i++) {
    work->charge = i;
    work->setting.charge = named[i];
    work->setting.has_regeneration = i != BW_STOP_CHARGE_NONE;
    BW_TRY(survey_setting(work, diag));
  }
  work->charge = BW_SURVEY_ANY;
  work->setting.has_regeneration = true;
  for (size_t i = 0; has_machine && i < sizeof OTHER_CHARGES / sizeof *OTHER_CHARGES; i++) {
    work->setting.charge = OTHER_CHARGES[i];
    BW_TRY(survey_setting(work, diag));
  }
  work->setting.charge = own;
  return BW_OK;
}

static enum bw_status survey_load(const struct bw_case *loaded, bool has_machine,
                                  struct survey_work *work, struct bw_diag *diag) {
  const double top = bw_assess_top_speed(loaded);
  for (int i = 0; i < BW_SURVEY_SPEEDS; i++) {
    if (top > 0.0 && SPEEDS_KMH[i] * KMH > top && i > 0) {
      break;
    }
    work->setting.speed = SPEEDS_KMH[i] * KMH;
    BW_TRY(survey_charges(loaded, has_machine, work, diag));
  }
  return refine_locks(work, diag);
}

/* without a machine each charge is as the one without regeneration */
static void copy_charges(struct bw_balance_survey *out) {
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    for (int i = BW_STOP_CHARGE_FULL; i < BW_STOP_CHARGE_NONE; i++) {
      memcpy(out->band[load][i], out->band[load][BW_STOP_CHARGE_NONE], sizeof out->band[load][i]);
      memcpy(out->worst[load][i], out->worst[load][BW_STOP_CHARGE_NONE],
             sizeof out->worst[load][i]);
    }
  }
}

static void clear(struct bw_balance_survey *out) {
  memset(out, 0, sizeof *out);
  const struct bw_survey_band nothing = {{(double)INFINITY, (double)INFINITY},
                                         {-(double)INFINITY, -(double)INFINITY}};
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    for (int i = 0; i < BW_SURVEY_CHARGES; i++) {
      for (int k = 0; k < BW_SURVEY_RATES; k++) {
        out->band[load][i][k] = nothing;
      }
    }
  }
}

enum bw_status bw_balance_survey_find(const struct bw_case *loaded,
                                      const struct bw_blend_strategy *strategy,
                                      const struct bw_observer *guard,
                                      struct bw_balance_survey *out, struct bw_diag *diag) {
  clear(out);
  double *params = bw_alloc(strategy->param_count + 1, sizeof *params);
  struct bw_case *state = bw_alloc(1, sizeof *state);
  struct survey_work *work = bw_alloc(1, sizeof *work);
  const bool has_machine = (strategy->flags & BW_BLEND_WITHOUT_MACHINE) == 0 &&
                           (loaded->machine[0].is_fitted || loaded->machine[1].is_fitted);
  enum bw_status status = BW_OK;
  if (params == NULL || state == NULL || work == NULL) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for balance curves");
  } else {
    bw_case_strategy_params(loaded, strategy, params);
    *state = *loaded;
    *work = (struct survey_work){.out = out, .slope = loaded->assess.balance_slope};
    for (int load = 0; load < BW_LOAD_STATES && status == BW_OK; load++) {
      work->load = state->vehicle.load_state = (enum bw_load_state)load;
      status = bw_prober_create(state, strategy, params, guard, &work->prober, diag);
      if (status == BW_OK) {
        status = survey_load(loaded, has_machine, work, diag);
        bw_prober_destroy(work->prober);
      }
    }
  }
  if (!has_machine) {
    copy_charges(out);
  }
  bw_free(work);
  bw_free(state);
  bw_free(params);
  return status;
}

struct errand {
  const struct bw_case *loaded;
  struct bw_balance_survey *out;
};

static enum bw_status survey_in_child(void *context, const struct bw_blend_strategy *live,
                                      const struct bw_observer *guard, struct bw_parcel *parcel,
                                      struct bw_diag *diag) {
  const struct errand *errand = context;
  BW_TRY(bw_balance_survey_find(errand->loaded, live, guard, errand->out, diag));
  bw_parcel_put(parcel, errand->out, sizeof *errand->out);
  return BW_OK;
}

enum bw_status bw_balance_survey_of_job(const struct bw_assess_job *job,
                                        struct bw_balance_survey *out, struct bw_diag *diag) {
  if (job->plugin == NULL) {
    return bw_balance_survey_find(job->loaded, job->strategy, NULL, out, diag);
  }
  struct errand errand = {job->loaded, out};
  const struct bw_plugin_job work = {.work = survey_in_child, .context = &errand};
  struct bw_parcel parcel = {0};
  enum bw_status status = bw_plugin_run(job->plugin, &job->containment, &work, &parcel, diag);
  if (status == BW_OK) {
    bw_parcel_get(&parcel, out, sizeof *out);
    if (parcel.has_failed) {
      status = bw_fail(diag, BW_E_INTERNAL, "balance curves did not arrive from their child");
    }
  }
  bw_parcel_free(&parcel);
  return status;
}
