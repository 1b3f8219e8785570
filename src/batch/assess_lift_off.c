/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_balance.h"

#include "batch/assess_stops.h"
#include "sim/driver.h"
#include "sim/limits.h"

#include <math.h>
#include <stdio.h>

static const double KMH = 1.0 / 3.6;

static const struct bw_requirement SAFE = {
    "lift_off_decel",           BW_FIGURE_DECELERATION_MOST,        0.0,
    "statics, one axle braked", "mu a/(L + mu h), mu b/(L - mu h)", BW_CERTAINTY_DERIVED};

/* greatest retardation (m/s2) that accelerator release gets out of the machine of `axle` at the
 * case's charge, over the speeds up to the top speed; *speed: where */
static double most_overrun(const struct bw_case *loaded, enum bw_load_state load, int axle,
                           double *speed) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  const struct bw_battery_state battery = bw_battery_start(&loaded->battery);
  const double rotating = bw_case_effective_mass(loaded) - vehicle->load[vehicle->load_state].mass;
  const double effective_mass = vehicle->load[load].mass + rotating;
  const double top = bw_assess_top_speed(loaded);
  const bool is_filled = loaded->overrun.fill == BW_OVERRUN_FILL_FRICTION;
  double most = 0.0;
  *speed = 0.0;
  /* the speeds are told as the sum rounds them */
  /* NOLINTNEXTLINE(clang-analyzer-security.FloatLoopCounter,cert-flp30-c) */
  for (double now = 5.0 * KMH; now <= top; now += 1.0 * KMH) {
    const struct bw_limits_input input = {
        .speed = now,
        .machine_temperature = {loaded->machine[0].start_temperature,
                                loaded->machine[1].start_temperature},
        .battery = &battery,
    };
    struct bw_limits limits;
    bw_limits_find(loaded, &input, &limits);
    const double asked = bw_driver_overrun(&loaded->overrun, effective_mass, now);
    const double had = limits.alone[axle] / vehicle->tyre_radius;
    const double given = (is_filled || asked < had ? asked : had) / effective_mass;
    if (given > most) {
      most = given;
      *speed = now;
    }
  }
  return most;
}

static enum bw_status add_axle(const struct bw_case *loaded, enum bw_load_state load, int axle,
                               struct bw_assessment *out, struct bw_diag *diag) {
  const struct bw_load *now = &loaded->vehicle.load[load];
  struct bw_assess_row row = {.requirement = &SAFE,
                              .load = load,
                              .charge = BW_STOP_CHARGE_OWN,
                              .is_connected = true,
                              .is_information = true,
                              .demand = (double)NAN};
  row.result = most_overrun(loaded, load, axle, &row.speed);
  for (int i = 0; i < BW_SURVEY_GRIPS; i++) {
    const double grip = bw_survey_grip(i);
    row.limit = BW_GRAVITY * bw_balance_single_axle(axle, grip, now->cg_to_front,
                                                    loaded->vehicle.wheelbase, now->cg_height);
    (void)snprintf(row.condition, sizeof row.condition, "%s axle, mu %.1f",
                   axle == BW_FRONT ? "front" : "rear", grip);
    BW_TRY(bw_assessment_add(out, &row, diag));
  }
  return BW_OK;
}

static enum bw_status assess_lift_off(const struct bw_assess_job *job, struct bw_assessment *out,
                                      struct bw_diag *diag) {
  const struct bw_case *loaded = job->loaded;
  if (!loaded->machine[BW_FRONT].is_fitted && !loaded->machine[BW_REAR].is_fitted) {
    const struct bw_assess_row row = {.requirement = &SAFE,
                                      .load = loaded->vehicle.load_state,
                                      .charge = BW_STOP_CHARGE_OWN,
                                      .limit = (double)NAN,
                                      .result = (double)NAN,
                                      .demand = (double)NAN,
                                      .condition = "accelerator release",
                                      .note = "the car has no machine that could regenerate"};
    return bw_assessment_add(out, &row, diag);
  }
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    for (int axle = 0; axle < BW_AXLES; axle++) {
      if (!loaded->machine[axle].is_fitted) {
        continue;
      }
      BW_TRY(add_axle(loaded, (enum bw_load_state)load, axle, out, diag));
    }
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_LIFT_OFF = {
    .title = "Lift-off",
    .is_per_strategy = false,
    .run = assess_lift_off,
    .notes = "Lift-off: limit is the greatest retardation at which a driven axle that brakes alone "
             "keeps its grip on a level road, result the greatest that the case's overrun "
             "calibration gets out of that axle's machine at the case's charge; information, no "
             "rule read sets a limit. Nothing is left for steering at the limit.",
};
