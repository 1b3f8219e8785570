/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_balance.h"

#include "alloc.h"
#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct bw_requirement RULES[BW_BALANCE_RULE_COUNT] = {
    [BW_BALANCE_LINE_FAMILY] = {"adhesion_line_c085", BW_FIGURE_SHARE_MOST, 0.85,
                                "EU 2015/68 (UN R13 family)", "Annex II App. 1 4.1.1.1",
                                BW_CERTAINTY_READ},
    [BW_BALANCE_LINE_CAR] = {"adhesion_line_c070", BW_FIGURE_SHARE_MOST, 0.7, "UN R13-H",
                             "Annex 5 3.1(A)", BW_CERTAINTY_MEMORY},
    [BW_BALANCE_LINE_OWN] = {"adhesion_line_own", BW_FIGURE_SHARE_MOST, 0.0, "the case",
                             "assess.balance_slope", BW_CERTAINTY_OWN},
    [BW_BALANCE_ORDER] = {"curve_order", BW_FIGURE_SHARE_MOST, 0.0, "UN R13-H", "Annex 5 3.1(B)",
                          BW_CERTAINTY_MEMORY},
    [BW_BALANCE_ORDER_EASED] = {"curve_order_eased", BW_FIGURE_SHARE_MOST, 0.05, "71/320/EEC",
                                "Annex II App. 3.1.1, M1", BW_CERTAINTY_READ},
    [BW_BALANCE_REAR_LINE] = {"rear_line", BW_FIGURE_SHARE_MOST, 0.9, "UN R13-H, 49 CFR 571.135",
                              "Annex 5 App. 2, S7.4", BW_CERTAINTY_MEMORY},
};

static const struct bw_requirement LOCK_ORDER = {
    "lock_order",       BW_FIGURE_SHARE_MOST, 0.0, "UN R13-H", "Annex 5 App. 1, z 0.15 to 0.8",
    BW_CERTAINTY_MEMORY};

/* under the rule the case names; the others are told beside it */
static bool is_own_rule(const struct bw_case *loaded, enum bw_balance_rule rule) {
  const char *name = loaded->assess.balance_rule;
  switch (rule) {
  case BW_BALANCE_LINE_FAMILY:
    return strcmp(name, "un-r13-family") == 0;
  case BW_BALANCE_LINE_CAR:
    return strcmp(name, "un-r13h") == 0;
  case BW_BALANCE_LINE_OWN:
    return strcmp(name, "custom") == 0;
  case BW_BALANCE_ORDER:
    return true;
  case BW_BALANCE_ORDER_EASED:
  case BW_BALANCE_REAR_LINE:
  case BW_BALANCE_RULE_COUNT:
    break;
  }
  return false;
}

static enum bw_status add_rule(const struct bw_assess_job *job,
                               const struct bw_balance_survey *survey, struct bw_assess_row *row,
                               enum bw_balance_rule rule, struct bw_assessment *out,
                               struct bw_diag *diag) {
  static const char *const charge[] = {"full", "own", "none"};
  const struct bw_survey_worst *worst = &survey->worst[row->load][row->charge][rule];
  row->requirement = &RULES[rule];
  row->is_information = job->loaded->assess.has_antilock || !is_own_rule(job->loaded, rule);
  row->limit = row->result = row->demand = (double)NAN;
  row->speed = 0.0;
  row->note[0] = '\0';
  if (worst->is_found) {
    row->limit = worst->limit;
    row->result = worst->result;
    row->speed = worst->speed;
    row->demand = worst->rate * BW_GRAVITY;
    (void)snprintf(row->condition, sizeof row->condition, "%s, z %.3f", charge[row->charge],
                   worst->rate);
  } else {
    (void)snprintf(row->condition, sizeof row->condition, "%s, any z", charge[row->charge]);
    (void)snprintf(row->note, sizeof row->note,
                   "the brakes never reach a braking rate to which this rule applies");
  }
  return bw_assessment_add(out, row, diag);
}

static void describe_lock(const struct bw_survey_lock *lock, double grip,
                          struct bw_assess_row *row) {
  (void)snprintf(row->condition, sizeof row->condition, "mu %.1f %s %.3f", grip,
                 lock->axle == BW_FRONT ? "front" : "rear", lock->rate);
  if (isfinite(lock->charge)) {
    (void)snprintf(row->note, sizeof row->note, "at a charge of %.0f %%", lock->charge * 100.0);
  } else {
    (void)snprintf(row->note, sizeof row->note, "without regeneration");
  }
}

static enum bw_status add_lock(const struct bw_assess_job *job,
                               const struct bw_balance_survey *survey, enum bw_load_state load,
                               int surface, struct bw_assessment *out, struct bw_diag *diag) {
  const struct bw_survey_lock *lock = &survey->lock[load][surface];
  const double grip = bw_survey_grip(surface);
  struct bw_assess_row row = {.requirement = &LOCK_ORDER,
                              .strategy = job->strategy,
                              .load = load,
                              .charge = BW_STOP_CHARGE_OWN,
                              .is_connected = true,
                              .is_information = true,
                              .limit = (double)NAN,
                              .result = (double)NAN,
                              .demand = (double)NAN};
  if (lock->is_found) {
    const bool is_asked = lock->rate >= 0.15 && lock->rate <= 0.8;
    row.is_information = job->loaded->assess.has_antilock || !is_asked;
    row.limit = lock->used[0];
    row.result = lock->used[1];
    row.speed = lock->speed;
    row.demand = lock->demand * BW_GRAVITY;
    if (!isfinite(lock->charge)) {
      row.charge = BW_STOP_CHARGE_NONE;
    } else if (lock->charge >= 1.0) {
      row.charge = BW_STOP_CHARGE_FULL;
    }
    describe_lock(lock, grip, &row);
  } else {
    (void)snprintf(row.condition, sizeof row.condition, "mu %.1f", grip);
    (void)snprintf(row.note, sizeof row.note,
                   "no axle reaches this grip with what the brakes give, up to z 1.0");
  }
  return bw_assessment_add(out, &row, diag);
}

static enum bw_status add_rules(const struct bw_assess_job *job,
                                const struct bw_balance_survey *survey, struct bw_assess_row row,
                                struct bw_assessment *out, struct bw_diag *diag) {
  for (int rule = 0; rule < BW_BALANCE_RULE_COUNT; rule++) {
    if (rule != BW_BALANCE_LINE_OWN || is_own_rule(job->loaded, BW_BALANCE_LINE_OWN)) {
      BW_TRY(add_rule(job, survey, &row, (enum bw_balance_rule)rule, out, diag));
    }
  }
  return BW_OK;
}

static enum bw_status add_rows(const struct bw_assess_job *job,
                               const struct bw_balance_survey *survey, struct bw_assessment *out,
                               struct bw_diag *diag) {
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    for (int charge = 0; charge <= BW_STOP_CHARGE_NONE; charge++) {
      const struct bw_assess_row row = {.strategy = job->strategy,
                                        .load = (enum bw_load_state)load,
                                        .charge = (enum bw_stop_charge)charge,
                                        .is_connected = true};
      BW_TRY(add_rules(job, survey, row, out, diag));
    }
    for (int surface = 0; surface < BW_SURVEY_GRIPS; surface++) {
      BW_TRY(add_lock(job, survey, (enum bw_load_state)load, surface, out, diag));
    }
  }
  return BW_OK;
}

/* room behind the last curves, which are not counted yet; NULL: out of memory */
static struct bw_assess_curves *grow_curves(struct bw_assessment *out) {
  struct bw_assess_curves *grown =
      bw_realloc(out->curves, out->curve_count + 1, sizeof *out->curves);
  if (grown == NULL) {
    return NULL;
  }
  out->curves = grown;
  return &grown[out->curve_count];
}

static enum bw_status add_unassessed(const struct bw_assess_job *job, const char *why,
                                     struct bw_assessment *out, struct bw_diag *diag) {
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    struct bw_assess_row row = {.requirement = &RULES[BW_BALANCE_ORDER],
                                .strategy = job->strategy,
                                .load = (enum bw_load_state)load,
                                .charge = BW_STOP_CHARGE_OWN,
                                .is_connected = true,
                                .limit = (double)NAN,
                                .result = (double)NAN,
                                .demand = (double)NAN,
                                .condition = "balance curves"};
    (void)snprintf(row.note, sizeof row.note, "%.150s", why);
    BW_TRY(bw_assessment_add(out, &row, diag));
  }
  return BW_OK;
}

static enum bw_status assess_balance(const struct bw_assess_job *job, struct bw_assessment *out,
                                     struct bw_diag *diag) {
  struct bw_assess_curves *added = grow_curves(out);
  if (added == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for balance curves");
  }
  struct bw_diag own = {0};
  const enum bw_status status = bw_balance_survey_of_job(job, &added->survey, &own);
  const char *why = bw_diag_text(&own, status);
  if (bw_assess_is_fatal(status)) {
    return bw_fail(diag, status, "assessment stopped: %.300s", why);
  }
  if (status != BW_OK) {
    return add_unassessed(job, why, out, diag);
  }
  added->strategy = job->strategy;
  added->slope = job->loaded->assess.balance_slope;
  out->curve_count++;
  return add_rows(job, &added->survey, out, diag);
}

const struct bw_assess_family BW_ASSESS_BALANCE = {
    .title = "Balance of the axles",
    .is_per_strategy = true,
    .run = assess_balance,
    .notes =
        "Balance: adhesion used f per axle over the braking rate z, brake forces alone, level-road "
        "loads, the strategy held at speeds from 10 to 140 km/h or the top speed, at full and own "
        "charge, without regeneration (none), and at 10, 50, 90 and 95 %, until it has settled; "
        "the "
        "row shows the worst z and speed. Limit and result of an adhesion line are the line and "
        "the "
        "larger f, of the orders front and rear f, of the rear line z/0.9 and rear f. Lock order "
        "names surface, the axle that locks first and the z at which it does, of the worst "
        "speed and charge. With antilock brakes (assess.antilock) all of it is "
        "information; without them what assess.balance_rule names, curve_order and lock_order "
        "between z 0.15 and 0.8 must be kept.",
};
