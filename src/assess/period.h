/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PERIOD_H
#define BW_PERIOD_H

#include "extrema.h"
#include "sim/sample.h"

#include <math.h>
#include <stdbool.h>

/** What several assessments want to know about one control period, worked out once.
 *
 *  Braking phase: the car moves and either braking is demanded or more than 1 N m retards it in
 *  the mean of the period (the tail after release is braking too). A car at rest is not in the
 *  braking phase, held or about to pull away while its brakes let go: nothing is braked, and the
 *  auxiliaries' standing drain is no braking loss. */

/** N m; retarding torque above which a period without demand still counts as braking. */
#define BW_BRAKING_TORQUE 1.0

/** m/s; gap, feel and jerk are not judged below: the jolt at rest is a figure of its own. */
#define BW_FEEL_SPEED 0.3

/** Constants of a case that the assessments share. Borrows the case. */
struct bw_judge {
  const struct bw_case *loaded;
  double mass;           /**< kg */
  double mass_effective; /**< kg, with rotating inertia */
  double radius;         /**< m */
  double inertia[2];     /**< kg m2 per axle with its machine */
};

struct bw_period {
  bool is_braking;
  bool is_felt;     /**< braking and above BW_FEEL_SPEED throughout */
  double torque;    /**< N m, mean retarding torque of both axles; driving counts negative */
  double demanded;  /**< J, work of the demand D at the road */
  double delivered; /**< J, machines and friction while braking, with their tyre loss */
  double delivered_axle[2]; /**< J, the same per axle */
  double machine;           /**< J, braking work of the machines at the axle */
  double friction[2];       /**< J */
  double battery;           /**< J into the terminals, signed */
};

struct bw_judge bw_judge_make(const struct bw_case *loaded);

/** Whether the car moves at all in this period. One that is held, or whose brakes still let go
 *  before it pulls away, does not. */
static inline bool bw_period_moves(const struct bw_sample *sample) {
  return !sample->is_parked && fabs(sample->distance) > 0.0;
}

/** The part of bw_period_read() that a braking period has. */
void bw_period_read_braking(const struct bw_judge *judge, const struct bw_sample *sample,
                            struct bw_period *period);

/** Fill *period from *sample. Works are 0 outside the braking phase. */
static inline void bw_period_read(const struct bw_judge *judge, const struct bw_sample *sample,
                                  struct bw_period *period) {
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  *period = (struct bw_period){
      .torque = front->machine_torque + front->friction_torque + rear->machine_torque +
                rear->friction_torque,
  };
  if ((sample->demand > 0.0 || period->torque > BW_BRAKING_TORQUE) && bw_period_moves(sample)) {
    bw_period_read_braking(judge, sample, period);
  }
}

#endif
