/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ENVELOPE_H
#define BW_ENVELOPE_H

#include "assess/period.h"

/** What delivered torque may look like when no hand-over goes wrong.
 *
 *  The held demand D is sent through the nominal dead time and first-order lag of every fitted
 *  path; low and high are the least and greatest of the answers. The same is done with the drive
 *  demand through the machine paths and taken off, because delivered torque counts the tail of
 *  the driving torque as negative: that tail is no hand-over. Rate limits, threshold pressure and
 *  pad friction of the real path are left out on purpose. All values are exact means over each
 *  sub-step of the piecewise exponential answer. */

enum { BW_ENVELOPE_PATHS = 4, BW_ENVELOPE_HISTORY = 1024 };

/** One path: dead time = delay whole periods + late (s) into the next. */
struct bw_envelope_path {
  double lag;   /**< s */
  size_t delay; /**< whole control periods */
  double late;  /**< s, in [0, period) */
  bool is_machine;
  double brake;           /**< N m, answer to D at the start of the coming period */
  double drive;           /**< N m, answer to the drive demand, machine paths only */
  double period_decay[2]; /**< exp(-part / lag) before and after `late` */
  size_t whole;           /**< sub-steps that end before `late` */
  double broken_decay[2]; /**< the same within the sub-step that holds `late` */
  double broken_mean[3];  /**< weights of state, old and new input in that sub-step's mean */
  double decay_after[BW_SUBSTEPS_MAX + 1]; /**< exp(-j h / lag) */
  double mean_weight;                      /**< mean of the exponential over one sub-step */
};

struct bw_envelope {
  double period;
  double substep;
  size_t path_count;
  size_t machine_count; /**< machines' paths; they come first */
  struct bw_envelope_path path[BW_ENVELOPE_PATHS];
  size_t now;      /**< place of the current period in the rings */
  size_t settled;  /**< periods in a row without any demand, state and history zero beyond */
  size_t coasting; /**< the same without any drive demand */
  size_t longest;  /**< periods of history that the longest delay needs */
  bool is_braked;  /**< some path still answers a demand */
  bool is_driven;  /**< or a drive demand */
  double demand[BW_ENVELOPE_HISTORY]; /**< N m, ring over the control periods */
  double driving[BW_ENVELOPE_HISTORY];
  double low[BW_SUBSTEPS_MAX]; /**< N m, sub-step means of the last watched period */
  double high[BW_SUBSTEPS_MAX];
  double mean[BW_ENVELOPE_PATHS][BW_SUBSTEPS_MAX]; /**< scratch: the answers, path by path */
};

/** Prepare for a case. BW_E_RANGE when a dead time needs more than BW_ENVELOPE_HISTORY - 2
 *  control periods. */
BW_MUST_CHECK enum bw_status bw_envelope_make(const struct bw_judge *judge,
                                              struct bw_envelope *envelope, struct bw_diag *diag);

/** Advance over one judged period: low and high are filled for its sub-steps. */
void bw_envelope_fill(struct bw_envelope *envelope, const struct bw_sample *sample);

/** Take the newest demand through every path; low and high stay as they are. */
void bw_envelope_answer_demand(struct bw_envelope *envelope);

/** Take the newest drive demand through the machines' paths. */
void bw_envelope_answer_drive(struct bw_envelope *envelope);

/** Note what was demanded in one period. */
static inline void bw_envelope_note(struct bw_envelope *envelope, const struct bw_sample *sample) {
  const size_t now = (envelope->now + 1) % BW_ENVELOPE_HISTORY;
  envelope->now = now;
  envelope->demand[now] = sample->demand;
  envelope->driving[now] = sample->drive;
  envelope->settled = sample->demand > 0.0 ? 0 : envelope->settled + 1;
  envelope->coasting = sample->drive > 0.0 ? 0 : envelope->coasting + 1;
}

/** Some path still answers a drive demand. */
static inline bool bw_envelope_has_drive(const struct bw_envelope *envelope) {
  return envelope->is_driven || envelope->coasting < envelope->longest;
}

/** Advance over one period that is not judged. */
static inline void bw_envelope_pass(struct bw_envelope *envelope, const struct bw_sample *sample) {
  bw_envelope_note(envelope, sample);
  if (envelope->is_braked || envelope->settled < envelope->longest) {
    bw_envelope_answer_demand(envelope);
  }
  if (bw_envelope_has_drive(envelope)) {
    bw_envelope_answer_drive(envelope);
  }
}

#endif
