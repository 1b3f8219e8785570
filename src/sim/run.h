/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_RUN_H
#define BW_RUN_H

#include "sim/sample.h"

/** One simulated run: a case driven with one strategy from start to end of its trace.
 *
 *  Time is control periods (strategy, limits, tables, temperatures, battery) filled with plant
 *  sub-steps (actuators, motion). Each period is handed to every observer as a struct bw_sample.
 *  Deterministic: same case, strategy and parameters give the same samples. */

/** Somebody who watches a run. `watch` is called once per control period, in order; returning a
 *  status other than BW_OK stops the run with that status. The sample is valid for the call.
 *  `consult`, NULL for most, is called twice per period around the strategy's step: before it with
 *  `request` NULL and after it with the answer as the strategy gave it, checked by nobody yet. */
struct bw_observer {
  void *context;
  enum bw_status (*watch)(void *context, const struct bw_sample *sample, struct bw_diag *diag);
  enum bw_status (*consult)(void *context, const struct bw_blend_input *input,
                            const struct bw_blend_request *request, struct bw_diag *diag);
};

/** Drive `loaded` with `strategy`. `params` are param_count values (bw_case_strategy_params()),
 *  NULL when the strategy has none.
 *  Errors: BW_E_NUMERIC (a signal became non-finite, the battery cannot give the power, a
 *  strategy returned a non-finite torque; the message names signal, time and last good value),
 *  BW_E_MEMORY, BW_E_USAGE (wrong contract version), or an observer's status. */
BW_MUST_CHECK enum bw_status bw_run(const struct bw_case *loaded,
                                    const struct bw_blend_strategy *strategy, const double *params,
                                    const struct bw_observer *observers, size_t observer_count,
                                    struct bw_diag *diag);

#endif
