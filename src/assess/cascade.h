/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CASCADE_H
#define BW_CASCADE_H

#include "assess/period.h"
#include "assess/summary.h"

/** Where the braking energy goes, from the road to the cells, over the braking phase (period.h),
 *  and which limit was touched for what share of braking time and delivered work.
 *
 *  A limit is touched when the strategy asks the machine with the larger envelope for at least
 *  0.99 of what it has. Both machines together may meet the battery's limit first: then the
 *  battery's limit is named. */
struct bw_cascade {
  const struct bw_judge *judge;
  bool uses_machine; /**< false: the strategy never asks, so it never touches a limit */
  double demanded;   /**< J, all of these */
  double delivered;
  double machine;
  double shaft;
  double dc;
  double battery;
  double cells;
  double overrun;
  double auxiliaries;
  double friction[2];
  double time; /**< s in the braking phase */
  double limit_time[BW_LIMIT_COUNT];
  double limit_energy[BW_LIMIT_COUNT];
};

struct bw_cascade bw_cascade_start(const struct bw_judge *judge, bool uses_machine);
void bw_cascade_watch(struct bw_cascade *cascade, const struct bw_sample *sample,
                      const struct bw_period *period);

/** Fill the energy columns and their shares. The recoverable energies must be in *summary. */
void bw_cascade_finish(const struct bw_cascade *cascade, struct bw_summary *summary);

/** Braking work (J) that the joined speed trace asks for at the road, the same for every
 *  strategy: integral of max(0, -(m_eff a + F_road + m g sin)) v dt by two Gauss points per 50 ms
 *  on the trace's own speed and distance. NaN for manoeuvres, which ask for no speed; the share
 *  then is of the work demanded. */
double bw_cascade_trace_work(const struct bw_judge *judge);

#endif
