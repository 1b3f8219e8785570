/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_STRATEGIES_H
#define BW_SWEEP_STRATEGIES_H

#include "options.h"
#include "sweep_job.h"

/** True for --over strategy=NAME,NAME, which is no axis of the plan. */
bool bw_sweep_is_strategy_axis(const struct bw_setting *setting);

/** Fill job->strategies and job->runs: what the rows of the points file name, else the command
 * line, else the case, else every built-in strategy. Behind the plan. BW_E_USAGE, BW_E_INPUT. */
BW_MUST_CHECK enum bw_status bw_sweep_strategies_choose(const struct bw_arguments *arguments,
                                                        struct bw_sweep_job *job,
                                                        struct bw_diag *diag);

/** The strategy of run `run` (0 .. job->runs - 1) of `point`. */
const struct bw_blend_strategy *bw_sweep_strategy_of(const struct bw_sweep_job *job, size_t point,
                                                     size_t run);

#endif
