/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_FADE_H
#define BW_ASSESS_FADE_H

#include "batch/assess.h"

/** Repeated braking (Type-I), laden, and the hot stop behind it.
 *
 *  BW_FADE_SNUBS times from v1 = 80 % of the top speed, at most 120 km/h, to v1/2, every 45 s or as
 *  much longer as it takes to regain v1 and drive 10 s at it; the pedal is that of 3 m/s2 at the
 *  first and stays. Source: 71/320/EEC Annex II 1.3.1 as at 2007, read; the same figures in UN
 *  R13-H Annex 3 1.5.1 are from memory. Then a stop from 100 km/h with the pedal of the cold one.
 */
enum { BW_FADE_SNUBS = 15 };

extern const struct bw_assess_family BW_ASSESS_FADE;

/** What is warm between two runs, K. */
struct bw_warmth {
  double rotor[2];
  double pad[2];
  double machine[2];
};

/** What the heating by snubs found. */
struct bw_fade_found {
  size_t snubs;         /**< that were driven to their end */
  double speed;         /**< m/s, v1 */
  double cycle;         /**< s from one start to the next */
  double first;         /**< m/s2, mean of the first snub over its way */
  double last;          /**< m/s2, the same of the last */
  double friction[2];   /**< J per axle, all snubs */
  struct bw_warmth end; /**< at the end of the last snub */
  double rotor_peak[2]; /**< K */
  double pad_peak[2];   /**< K */
};

/** The start temperatures of a case. */
struct bw_warmth bw_warmth_start(const struct bw_case *loaded);

/** Let a copied case start as warm as `warmth`. */
void bw_warmth_give(const struct bw_warmth *warmth, struct bw_case *copy);

/** Cool for `duration` s without braking while the speed goes straight from `from` to `to` (m/s).
 *  Machines are taken to keep their temperature. */
void bw_warmth_cool(const struct bw_case *loaded, double from, double to, double duration,
                    struct bw_warmth *warmth);

/** Time (s) in which the machines take the car from `from` to `to` (m/s) on a level road at peak
 *  torque and power; infinity when they cannot. */
double bw_assess_drive_time(const struct bw_case *loaded, double from, double to);

/** Heat the brakes of a copy (bw_assess_case(), which stays the caller's) by snubs. A snub that
 *  does not reach v1/2 ends it: found->snubs tells. Statuses as bw_run(). */
BW_MUST_CHECK enum bw_status bw_assess_heat(const struct bw_assess_job *job, struct bw_case *copy,
                                            struct bw_fade_found *found, struct bw_diag *diag);

/** Append the rows of a hot stop from 100 km/h with the pedal of the cold stop in the same state,
 *  the brakes as warm as `warmth`: distance, deceleration and share of the cold result. `row` says
 *  what they have in common. */
BW_MUST_CHECK enum bw_status bw_assess_hot_stop(const struct bw_assess_job *job,
                                                const struct bw_assess_row *row,
                                                const struct bw_warmth *warmth,
                                                struct bw_assessment *out, struct bw_diag *diag);

/** Append the rows of the recovered stop: the hot stop as bw_assess_hot_stop() has it, four stops
 *  from 50 km/h at 3 m/s2, their starts 1.5 km apart, the car driven back to speed as fast as it
 *  can, then the cold stop's pedal from 100 km/h; its deceleration over that of the cold stop must
 *  lie within 0.70 and 1.50. Source: UN R13-H Annex 3 1.5.3, the same in 49 CFR 571.135 S7.15 and
 *  S7.16, from memory. */
BW_MUST_CHECK enum bw_status bw_assess_recovery(const struct bw_assess_job *job,
                                                const struct bw_assess_row *row,
                                                const struct bw_warmth *warmth,
                                                struct bw_assessment *out, struct bw_diag *diag);

#endif
