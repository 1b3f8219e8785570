/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_COMFORT_H
#define BW_COMFORT_H

#include "assess/bound.h"

/** The price of comfort: what a blend that knows neither the coming demand nor the coming limits
 *  could recover of the braking delivered, when no exchange between machines and friction may be
 *  felt, for a row of felt limits.
 *
 *  An exchange spans at least the band a_b a (tau + theta)/a_felt: a_b the deceleration by the
 *  brakes, a the car's, tau + theta of the slower friction brake. Share s of the machines in the
 *  torque of one moment, v0 the speed at which the last machine gives out, L their torque as told
 *  to a strategy:
 *    s = min(L/T, (v - v0)/band, s_before + dt a_felt/(a_b (tau + theta)))
 *  so the last fade starts where the band at this moment's deceleration just fits above v0, and a
 *  share once given up comes back no faster than over a band. The start of a braking phase is no
 *  exchange. A share that a falling limit or a growing demand takes away faster is taken away all
 *  the same: without preview no blend can help that. Power as in bound.h, plant's limits only;
 *  temperatures, charge and pulse budget as the run had them. Without a felt limit the figure is
 *  `energy_recoverable_plant_kj`. */

enum { BW_COMFORT_POINTS = 10 };

struct bw_comfort {
  struct bw_judge judge;
  struct bw_bound bound;
  double lag;                            /**< s, tau + theta */
  double give_out;                       /**< m/s, v0 */
  bool was_braking;                      /**< in the period before */
  double felt[BW_COMFORT_POINTS];        /**< m/s2, rising; the last one INFINITY: no limit */
  double share[BW_COMFORT_POINTS];       /**< of the period before, 0..1 */
  double recoverable[BW_COMFORT_POINTS]; /**< J over the run, into the terminals */
};

/** Fill *comfort, which must stay where it is; borrows the case. The felt limits are fixed
 * multiples of the case's own, which is among them, and none. */
void bw_comfort_start(struct bw_comfort *comfort, const struct bw_case *loaded);

/** To be called for every period. */
void bw_comfort_watch(struct bw_comfort *comfort, const struct bw_sample *sample);

/** Index of the case's own felt limit. */
size_t bw_comfort_own_point(void);

/** Speed band (m/s) of an exchange at a steady stop of `deceleration` (m/s2), point `index`. */
double bw_comfort_band(const struct bw_comfort *comfort, size_t index, double deceleration);

#endif
