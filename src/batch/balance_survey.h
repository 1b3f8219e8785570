/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BALANCE_SURVEY_H
#define BW_BALANCE_SURVEY_H

#include "assess/balance_rules.h"
#include "batch/assess.h"

/** Adhesion-utilisation curves of one strategy as bands: regeneration moves the balance with
 *  charge and speed, so each braking rate z has a lowest and a highest f_1 and f_2.
 *
 *  Every point is a probe (sim/probe.h). The demand is raised in steps of BW_SURVEY_STEP at seven
 *  speeds from 10 km/h to 140 km/h or the top speed and at the charges below; a strategy that
 *  delivers less than is demanded is read at the rate it delivers. What happens between the
 *  samples is not seen. */

enum { BW_SURVEY_RATES = 39, BW_SURVEY_SPEEDS = 7, BW_SURVEY_GRIPS = 5 };

/** Charges that a band spans: those of enum bw_stop_charge, and the last over all of them together
 *  with 10, 50, 90 and 95 %. */
enum { BW_SURVEY_ANY = 3, BW_SURVEY_CHARGES = 4 };

#define BW_SURVEY_STEP 0.025 /**< z */

/** z of sample k, 0.05 to 1.0. */
double bw_survey_rate(int k);

/** Grip of surface i: 0.1, 0.2, 0.3, 0.5, 0.8. */
double bw_survey_grip(int i);

struct bw_survey_band {
  double low[2]; /**< f_1, f_2; infinite where no setting reaches this rate */
  double high[2];
};

/** The worst point against one rule. */
struct bw_survey_worst {
  bool is_found;
  double limit;
  double result;
  double rate;   /**< z */
  double speed;  /**< m/s */
  double charge; /**< 0..1, NaN: no regeneration */
};

/** First lock on one surface as the demand is raised: of the settings the one whose rear axle is
 *  first between z 0.15 and 0.8, else the one with the lowest rate. */
struct bw_survey_lock {
  bool is_found;
  int axle;       /**< that reaches the grip first */
  double rate;    /**< z delivered there */
  double used[2]; /**< f_1, f_2 there */
  double speed;   /**< m/s */
  double charge;  /**< 0..1, NaN: no regeneration */
  double demand;  /**< z demanded there */
};

struct bw_balance_survey {
  struct bw_survey_band band[BW_LOAD_STATES][BW_SURVEY_CHARGES][BW_SURVEY_RATES];
  struct bw_survey_worst worst[BW_LOAD_STATES][BW_SURVEY_CHARGES][BW_BALANCE_RULE_COUNT];
  struct bw_survey_lock lock[BW_LOAD_STATES][BW_SURVEY_GRIPS];
  size_t probes;
  size_t unsettled; /**< probes in which the strategy did not come to rest */
};

/** Survey `strategy` in this process; `guard` (NULL: none) as in bw_prober_create().
 *  BW_E_MEMORY, BW_E_NUMERIC, BW_E_RANGE, or a status of the guard. */
BW_MUST_CHECK enum bw_status bw_balance_survey_find(const struct bw_case *loaded,
                                                    const struct bw_blend_strategy *strategy,
                                                    const struct bw_observer *guard,
                                                    struct bw_balance_survey *out,
                                                    struct bw_diag *diag);

/** The same of whatever the job names, a loaded controller in a child process. */
BW_MUST_CHECK enum bw_status bw_balance_survey_of_job(const struct bw_assess_job *job,
                                                      struct bw_balance_survey *out,
                                                      struct bw_diag *diag);

#endif
