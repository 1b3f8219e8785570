/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_lamp.h"

#include "alloc.h"
#include "batch/assess_stops.h"
#include "batch/watch_run.h"
#include "sim/driver.h"
#include "sim/limits.h"

#include <math.h>
#include <stdio.h>

static const double KMH = 1.0 / 3.6;
static const double FASTEST = 130.0 / 3.6; /* m/s */
static const double LONGEST = 600.0;       /* s */

/* the bands are quoted, but what is held against a limit is a time, which no rule read has */
static const struct bw_requirement MUST_ON = {
    "lamp_must_light", BW_FIGURE_TIME, 0.0, "UN R13-H", "5.2.22.4 (quoted), above 1.3 m/s2",
    BW_CERTAINTY_OWN};
static const struct bw_requirement MUST_OFF = {
    "lamp_must_be_dark", BW_FIGURE_TIME, 0.0, "UN R13-H", "5.2.22.4 (quoted), at most 0.7 m/s2",
    BW_CERTAINTY_OWN};

static enum bw_status add_pair(const struct bw_case *loaded, const struct bw_lamp *lamp,
                               struct bw_assess_row *row, struct bw_assessment *out,
                               struct bw_diag *diag) {
  row->limit = loaded->assess.lamp_delay;
  row->requirement = &MUST_ON;
  row->result = lamp != NULL ? lamp->must_on_longest : (double)NAN;
  BW_TRY(bw_assessment_add(out, row, diag));
  row->requirement = &MUST_OFF;
  row->result = lamp != NULL ? lamp->must_off_longest : (double)NAN;
  return bw_assessment_add(out, row, diag);
}

/* N that accelerator release takes off at `speed` */
static double overrun_force(const struct bw_case *loaded, const struct bw_battery_state *battery,
                            bool has_regeneration, double effective_mass, double speed) {
  const double asked = bw_driver_overrun(&loaded->overrun, effective_mass, speed);
  if (loaded->overrun.fill == BW_OVERRUN_FILL_FRICTION) {
    return asked;
  }
  if (!has_regeneration) {
    return 0.0;
  }
  const struct bw_limits_input input = {
      .speed = speed,
      .machine_temperature = {loaded->machine[0].start_temperature,
                              loaded->machine[1].start_temperature},
      .battery = battery,
  };
  struct bw_limits limits;
  bw_limits_find(loaded, &input, &limits);
  return fmin(asked, (limits.joint[0] + limits.joint[1]) / loaded->vehicle.tyre_radius);
}

struct bw_lift_off bw_lift_off_roll(const struct bw_case *loaded, enum bw_stop_charge charge,
                                    double speed) {
  struct bw_battery_state battery = bw_battery_start(&loaded->battery);
  battery.charge = charge == BW_STOP_CHARGE_FULL ? 1.0 : battery.charge;
  const double mass = bw_case_effective_mass(loaded);
  const double period = loaded->control_period;
  struct bw_lift_off roll = {
      .lamp = bw_lamp_make(loaded->assess.lamp_on, loaded->assess.lamp_filter), .start = speed};
  (void)bw_lamp_step(&roll.lamp, 0.0, false, period); /* the accelerator still holds the speed */
  const size_t most = (size_t)(LONGEST / period);
  for (size_t k = 0; k < most && speed > 1.0 * KMH; k++) {
    const double force =
        overrun_force(loaded, &battery, charge != BW_STOP_CHARGE_NONE, mass, speed) +
        bw_vehicle_road_load(&loaded->vehicle, speed);
    const double deceleration = force / mass;
    if (deceleration > roll.peak) {
      roll.peak = deceleration;
      roll.peak_speed = speed;
    }
    (void)bw_lamp_step(&roll.lamp, deceleration, false, period);
    speed -= deceleration * period;
  }
  return roll;
}

static enum bw_status add_release(const struct bw_case *copy, enum bw_stop_charge charge,
                                  double speed, struct bw_assessment *out, struct bw_diag *diag) {
  static const char *const text[] = {"release, full", "release, own", "release, none"};
  const struct bw_lift_off roll = bw_lift_off_roll(copy, charge, speed);
  struct bw_assess_row row = {.load = copy->vehicle.load_state,
                              .charge = charge,
                              .is_connected = true,
                              .speed = speed,
                              .demand = (double)NAN};
  (void)snprintf(row.condition, sizeof row.condition, "%s", text[charge]);
  (void)snprintf(row.note, sizeof row.note,
                 "at most %.3f m/s2, at %.1f km/h; in all %.2f s too dark, %.2f s too bright",
                 roll.peak, roll.peak_speed / KMH, roll.lamp.must_on, roll.lamp.must_off);
  return add_pair(copy, &roll.lamp, &row, out, diag);
}

static enum bw_status assess_release(const struct bw_assess_job *job, struct bw_assessment *out,
                                     struct bw_diag *diag) {
  const struct bw_case *loaded = job->loaded;
  const bool has_machine = loaded->machine[0].is_fitted || loaded->machine[1].is_fitted;
  if (!has_machine || !(loaded->overrun.deceleration > 0.0)) {
    struct bw_assess_row row = {.load = loaded->vehicle.load_state,
                                .charge = BW_STOP_CHARGE_OWN,
                                .is_connected = has_machine,
                                .demand = (double)NAN,
                                .condition = "release"};
    (void)snprintf(row.note, sizeof row.note, "%s",
                   has_machine ? "overrun.decel_mps2 is 0: releasing the accelerator regenerates "
                                 "nothing"
                               : "the car has no machine that could regenerate");
    return add_pair(loaded, NULL, &row, out, diag);
  }
  const double speed = fmin(FASTEST, bw_assess_top_speed(loaded));
  enum bw_status status = BW_OK;
  for (int load = 0; load < BW_LOAD_STATES && status == BW_OK; load++) {
    struct bw_case *copy = bw_alloc(1, sizeof *copy);
    if (copy == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "out of memory for the stop lamp");
    }
    *copy = *loaded;
    copy->vehicle.load_state = (enum bw_load_state)load;
    for (int charge = 0; charge <= BW_STOP_CHARGE_NONE && status == BW_OK; charge++) {
      status = add_release(copy, (enum bw_stop_charge)charge, speed, out, diag);
    }
    bw_free(copy);
  }
  return status;
}

static bool look(const struct bw_case *loaded, void *state, const struct bw_sample *sample) {
  (void)loaded;
  bw_lamp_watch(state, sample);
  return true;
}

static enum bw_status assess_trace(const struct bw_assess_job *job, struct bw_assessment *out,
                                   struct bw_diag *diag) {
  struct bw_case *copy = bw_alloc(1, sizeof *copy);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the stop lamp");
  }
  *copy = *job->loaded;
  copy->fidelity = BW_FIDELITY_ROLLING;
  copy->fault.kind = BW_FAULT_NONE;
  struct bw_lamp lamp = bw_lamp_make(copy->assess.lamp_on, copy->assess.lamp_filter);
  const struct bw_watch watch = {&lamp, sizeof lamp, copy, look};
  struct bw_diag own = {0};
  const enum bw_status status = bw_watch_run(job, &watch, &own);
  bw_free(copy);
  if (bw_assess_is_fatal(status)) {
    return bw_fail(diag, status, "assessment stopped: %.300s", bw_diag_text(&own, status));
  }
  struct bw_assess_row row = {.strategy = job->strategy,
                              .load = job->loaded->vehicle.load_state,
                              .charge = BW_STOP_CHARGE_OWN,
                              .is_connected = true,
                              .demand = (double)NAN,
                              .condition = "the case's trace"};
  if (status != BW_OK) {
    bw_assess_note(&row, status, &own);
    return add_pair(job->loaded, NULL, &row, out, diag);
  }
  (void)snprintf(row.note, sizeof row.note, "in all %.2f s too dark, %.2f s too bright",
                 lamp.must_on, lamp.must_off);
  return add_pair(job->loaded, &lamp, &row, out, diag);
}

const struct bw_assess_family BW_ASSESS_LAMP_TRACE = {
    .title = "Stop lamp",
    .is_per_strategy = true,
    .run = assess_trace,
    .notes = "Stop lamp: lit by the pedal, or while the deceleration, low-passed with "
             "assess.lamp_filter_ms, has risen above assess.lamp_on_mps2 and not fallen to 0.7 "
             "m/s2. Result is the longest spell dark above 1.3 m/s2, or lit at 0.7 m/s2 or less "
             "with the pedal released; the bands are quoted, the delay allowed is "
             "assess.lamp_delay_ms and has no source. The lamp's state at each moment is in the "
             "traces of run --trace.",
};

const struct bw_assess_family BW_ASSESS_LAMP_CAR = {
    .title = "Stop lamp",
    .is_per_strategy = false,
    .run = assess_release,
    .notes = "Release: the accelerator is let go at the top speed, at most 130 km/h, on a level "
             "road, at full and own charge and without regeneration (none); overrun calibration "
             "and road load, no lag of the machines.",
};
