/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WHOLE_CASE_H
#define BW_WHOLE_CASE_H

#include "assess/evaluate.h"
#include "input/case.h"

/** Case files and whole evaluations that must work: what fails ends the test with its reason. */

/** Load `path` with `count` overrides. Free with bw_case_destroy(). */
struct bw_case *load_case(const char *path, const struct bw_override *set, size_t count);

/** What bw_evaluate() finds. Free with bw_evaluation_free(). */
struct bw_evaluation evaluate_case(const struct bw_case *loaded,
                                   const struct bw_blend_strategy *strategy);

/** The summary of the file at `path` with `count` overrides, by the built-in `strategy`. */
struct bw_summary summary_of_file(const char *path, const struct bw_override *set, size_t count,
                                  const char *strategy);

/** Call `check` for every built-in strategy on three shipped cases with assess.ceiling, as they are
 *  and with a battery that is cold and nearly full. */
void check_ceiling_cases(void (*check)(const struct bw_case *loaded,
                                       const struct bw_blend_strategy *strategy));

#endif
