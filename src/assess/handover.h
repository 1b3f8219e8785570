/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_HANDOVER_H
#define BW_HANDOVER_H

#include "assess/evaluate.h"
#include "assess/gap.h"

/** Finds hand-overs between machines and friction in the requested share s = machine request / D
 *  while D is above 0.2 m/s2 of the mass and the car faster than BW_FEEL_SPEED.
 *
 *  Settled: s stays within 0.02, and the gap against the envelope within 0.2 of the felt line, of
 *  where they were, for 0.2 s. A hand-over starts where s leaves the 0.02 around its settled value
 *  and counts once it is more than 0.05 away; it ends at the start of the next settled 0.2 s.
 *  Peaks and integrals run on through those 0.2 s, so the area law is not cut short. Exchanges of
 *  less than 0.05 m/s2 are ignored. A share that drifts more slowly than 0.02 in 0.2 s (a machine
 *  on its power limit) is followed, not counted. The speed not taken off is the integral of
 *  dip - surge; an exchange during a fast change of demand is partly hidden by the envelope. */
struct bw_handover_finder {
  double demand_least; /**< N m */
  double per_torque;   /**< m/s2 of exchange per N m, 1/(r m) */
  double felt;         /**< m/s2 */
  bool has_settled;
  bool is_open;
  double settled;  /**< share */
  double exchange; /**< N m, greatest |s - settled| D so far */
  double window_share;
  double window_excess; /**< m/s2 */
  double window_time;   /**< s */
  double jerk_squares;
  double jerk_time;
  struct bw_handover now;    /**< since the share left its settled value */
  struct bw_handover window; /**< the same at the start of the window */
  size_t count;
  size_t capacity;
  struct bw_handover *list; /**< (count) owned */
};

struct bw_handover_finder bw_handover_start(const struct bw_judge *judge);

/** Take in one period; `event` is the running event's number, 0 for none. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_handover_watch(struct bw_handover_finder *finder,
                                               const struct bw_sample *sample,
                                               const struct bw_period *period,
                                               const struct bw_gap_period *gap, size_t event,
                                               struct bw_diag *diag);

/** Close an open hand-over at the end of the run and fill the summary. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_handover_finish(struct bw_handover_finder *finder,
                                                struct bw_summary *summary, struct bw_diag *diag);

/** Free the list. */
void bw_handover_free(struct bw_handover_finder *finder);

#endif
