/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_VERDICT_H
#define BW_VERDICT_H

#include "assess/summary.h"
#include "input/case.h"

/** Judge a filled summary against the case and write verdict and reason.
 *
 *  Not ranked: an axle asked for more grip than there is (the rolling tyre model does not hold), or
 *  the run broke the balance rule and so beat the bound that keeps it. Missed: an acceptance limit
 *  of the case, a limit on a column that has no value, or, for a car without anti-lock system, the
 *  balance rule. Not ranked goes before missed; every reason is named as far as it fits. A run
 *  that broke the rule has of_recoverable_rule flagged in the reason even when it is kept. */
void bw_verdict_judge(const struct bw_case *loaded, struct bw_summary *summary);

/** Number of acceptance limits of the case that *summary misses, columns without value included. */
size_t bw_verdict_missed(const struct bw_case *loaded, const struct bw_summary *summary);

#endif
