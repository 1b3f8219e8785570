/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_H
#define BW_ASSESS_H

#include "assess/requirements.h"
#include "batch/plugin.h"
#include "input/case.h"

/** Holding a car against published rules. Each family of requirements (stops, balance, ...) is a
 *  file of its own that appends rows to one list; assess.c knows the families. */

enum bw_stop_charge {
  BW_STOP_CHARGE_FULL, /**< 100 %: the least help of the machine that is guaranteed */
  BW_STOP_CHARGE_OWN,  /**< the case's own state of charge */
  BW_STOP_CHARGE_NONE  /**< empty of regeneration: machines turn with the wheels, brake nothing */
};

/** What has failed; the controller is not told. Circuits have failed with machines that do not
 *  brake, so that what is shown is the least that is left. */
enum bw_stop_failure {
  BW_STOP_SOUND,
  BW_STOP_REGENERATION,  /**< machines disconnected */
  BW_STOP_CIRCUIT_FRONT, /**< no friction at the front */
  BW_STOP_CIRCUIT_REAR,
  BW_STOP_CIRCUIT_DIAGONAL, /**< one wheel of each axle without friction */
  BW_STOP_BOOSTER
};

struct bw_assess_family;

/** One requirement under one condition. */
struct bw_assess_row {
  const struct bw_requirement *requirement;
  const struct bw_assess_family *family;    /**< set by bw_assess_run(), else NULL */
  const struct bw_blend_strategy *strategy; /**< NULL: true of the car whatever the strategy */
  enum bw_load_state load;
  enum bw_stop_charge charge;
  bool is_connected; /**< machines fitted and able to brake */
  enum bw_stop_failure failure;
  bool is_information; /**< told, but neither kept nor missed */
  double speed;        /**< m/s at the start, 0: unknown */
  double limit;        /**< in the unit of the requirement's figure, as the next two */
  double result;       /**< NaN: not assessed */
  double margin;       /**< negative when missed */
  double demand;       /**< m/s2 of brake demand that was needed, NaN: none or not assessed */
  char condition[64];  /**< shown in place of what charge, machine and failure say, may be empty */
  char note[160];      /**< why it is not assessed, else a remark for the CSV or empty */
};

struct bw_assess_curves;
struct bw_descent;

/** Owns its rows, curves and descents; free with bw_assessment_free(). Start from {0}. */
struct bw_assessment {
  size_t count;
  size_t room;
  struct bw_assess_row *rows; /**< (count) */
  size_t curve_count;
  struct bw_assess_curves *curves; /**< (curve_count) balance curves, batch/assess_balance.h */
  size_t descent_count;
  struct bw_descent *descents; /**< (descent_count), batch/assess_descent.h */
};

/** What is assessed. Borrows everything. */
struct bw_assess_job {
  const struct bw_case *loaded;
  const struct bw_blend_strategy *strategy; /**< NULL for families of the car */
  const struct bw_plugin *plugin;           /**< NULL: a built-in strategy */
  struct bw_containment containment;        /**< of a loaded controller */
};

/** A family of requirements. */
struct bw_assess_family {
  const char *title;    /**< of its part of the page; families may share one */
  bool is_per_strategy; /**< else run once, with job->strategy NULL */
  /** Append rows. What cannot be assessed becomes a row with a note and a NaN result; errors are
   *  BW_E_MEMORY, BW_E_INTERRUPTED and BW_E_IO only. */
  enum bw_status (*run)(const struct bw_assess_job *job, struct bw_assessment *out,
                        struct bw_diag *diag);
  const char *notes; /**< how it was done, for people */
};

/** Family `index`, NULL beyond the last. */
const struct bw_assess_family *bw_assess_family_at(size_t index);

/** Run every family that is per strategy (job->strategy given) or of the car (NULL). */
BW_MUST_CHECK enum bw_status bw_assess_run(const struct bw_assess_job *job,
                                           struct bw_assessment *out, struct bw_diag *diag);

/** Append a copy of `row`, its margin worked out. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_assessment_add(struct bw_assessment *assessment,
                                               const struct bw_assess_row *row,
                                               struct bw_diag *diag);

/** Rows that were assessed and missed. */
size_t bw_assessment_missed(const struct bw_assessment *assessment);

/** Rows of `strategy` that have a result. */
size_t bw_assessment_judged(const struct bw_assessment *assessment,
                            const struct bw_blend_strategy *strategy);

void bw_assessment_free(struct bw_assessment *assessment);

#endif
