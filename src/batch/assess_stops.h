/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_STOPS_H
#define BW_ASSESS_STOPS_H

#include "batch/assess.h"

/** Straight stops of the published rules, run on copies of a case.
 *
 *  Each stop is the hardest one, to 0.02 m/s2 of brake demand, in which no axle asks for more grip
 *  than road.adhesion gives (no wheel lock; assess.balance_violation_ms in all are forgiven), on a
 *  level road with rolling wheels; the demand rises
 *  within BW_STOP_BUILD. Brakes start at the case's temperatures. Pedal forces are not modelled. */

/** s; an emergency application, chosen here: 0.05 s and 0.83 s are quoted for professional and
 *  ordinary drivers (Greibe 2007). */
#define BW_STOP_BUILD 0.2

/** Append all rows of one strategy, job->strategy. A stop that cannot be run gives a row 'not
 *  assessed' with its reason. BW_E_MEMORY, BW_E_INTERRUPTED, and BW_E_IO of a child process. */
BW_MUST_CHECK enum bw_status bw_assess_stops(const struct bw_assess_job *job,
                                             struct bw_assessment *out, struct bw_diag *diag);

extern const struct bw_assess_family BW_ASSESS_STOPS;

/** Top speed (m/s), estimated: the fastest at which the machines' peak power after their gears
 *  meets the road load, below the top shaft speeds. 0 without a machine. */
double bw_assess_top_speed(const struct bw_case *loaded);

#endif
