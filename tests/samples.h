/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SAMPLES_H
#define BW_SAMPLES_H

/** Samples made by closed forms, for tests of the assessments without a simulator.
 *
 *  The car of make_case.h without road load: torques are held over a period, so speed is a
 *  straight line and every work is exact. */

#include "assess/period.h"
#include "make_case.h"

enum { SAMPLE_SUBSTEPS = 10 };

/** RV-1 without road load, options of the assessments set; machines as the test fits them. */
static inline struct bw_case *samples_case(void) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = 0.0;
  made->vehicle.road_f1 = 0.0;
  made->vehicle.road_f2 = 0.0;
  made->trace.kind = BW_TRACE_DECEL;
  made->assess = (struct bw_assess_options){
      .felt_deceleration = 0.015 * BW_GRAVITY,
      .jerk_cutoff = 10.0,
      .balance_slope = 0.85,
      .balance_violation_time = 0.05,
      .lamp_on = 1.0,
      .event_on = 0.1,
      .event_off = 0.05,
      .event_gap = 0.5,
  };
  made->control_period = 0.01;
  made->step = 0.001;
  return made;
}

/** What is held over a made period, N m at the axle. */
struct sample_torques {
  double demand;
  double machine[2];
  double friction[2];
};

/** The period that begins at `time` with `speed` and lasts `duration`; the car does not stop in
 *  it. Works are those of torque / radius over the distance, without any loss. */
static inline struct bw_sample sample_held(const struct bw_judge *judge, double time, double speed,
                                           double duration, const struct sample_torques *torques) {
  double sum = 0.0;
  for (int i = 0; i < 2; i++) {
    sum += torques->machine[i] + torques->friction[i];
  }
  const double deceleration = sum / (judge->radius * judge->mass_effective);
  struct bw_sample sample = {
      .time = time,
      .duration = duration,
      .substeps = SAMPLE_SUBSTEPS,
      .substep = duration / SAMPLE_SUBSTEPS,
      .speed_start = speed,
      .speed_end = fmax(0.0, speed - deceleration * duration),
      .deceleration = deceleration,
      .demand = torques->demand,
      .demand_pedal = torques->demand,
      .charge_power = 1e9,
      .voltage = 400.0,
      .charge = 0.5,
  };
  sample.distance = 0.5 * (sample.speed_start + sample.speed_end) * duration;
  sample.kinetic_start = 0.5 * judge->mass_effective * speed * speed;
  sample.kinetic_end = 0.5 * judge->mass_effective * sample.speed_end * sample.speed_end;
  for (size_t k = 0; k < SAMPLE_SUBSTEPS; k++) {
    sample.delivered[k] = sum;
  }
  double level[2];
  bw_vehicle_axle_loads(&judge->loaded->vehicle, 0.0, deceleration, level);
  for (int i = 0; i < 2; i++) {
    struct bw_sample_axle *axle = &sample.axle[i];
    axle->machine_request = torques->machine[i];
    axle->machine_torque = torques->machine[i];
    axle->friction_torque = torques->friction[i];
    axle->available = axle->available_alone = axle->envelope = 1e5;
    axle->machine_work = torques->machine[i] / judge->radius * sample.distance;
    axle->friction_work = torques->friction[i] / judge->radius * sample.distance;
    axle->shaft_work = axle->dc_work = axle->machine_work;
    axle->brake_force = (torques->machine[i] + torques->friction[i]) / judge->radius;
    axle->contact_force = axle->brake_force;
    axle->load = axle->load_level = level[i];
    sample.battery_work += axle->dc_work;
  }
  sample.cells_work = sample.battery_work;
  return sample;
}

#endif
