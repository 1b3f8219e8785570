/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "extrema.h"
#include "input/case_loader.h"
#include "sim/sample.h"

#include <math.h>
#include <stdio.h>

/** Checks between values: each alone is in its range already. */

enum { KEY_SIZE = 96 };

static const char *const AXLE_WORDS[BW_AXLES] = {"front", "rear"};
static const char *const LOAD_WORDS[BW_LOAD_STATES] = {"unladen", "laden"};

static double number(const struct bw_case_loader *loader, const char *part, const char *word,
                     const char *leaf, char key[KEY_SIZE]) {
  (void)snprintf(key, KEY_SIZE, "%s.%s.%s", part, word, leaf);
  return bw_param_number(loader->values, key);
}

/* first over second of one group must be above; the message stands at the first */
static void check_above(struct bw_case_loader *loader, const char *part, const char *word,
                        const char *high_leaf, const char *low_leaf) {
  char high_key[KEY_SIZE];
  char low_key[KEY_SIZE];
  const double high = number(loader, part, word, high_leaf, high_key);
  const double low = number(loader, part, word, low_leaf, low_key);
  if (!(high > low)) {
    const char *unit = bw_param_find(loader->values->table, high_key)->unit;
    bw_loader_fail_key(loader, high_key, "%.15g %s is not above %s of %.15g %s; raise it", high,
                       unit, low_leaf, low, unit);
  }
}

static void check_machine(struct bw_case_loader *loader, const char *word,
                          const struct bw_machine *machine) {
  if (!machine->is_fitted) {
    return;
  }
  char key[KEY_SIZE];
  check_above(loader, "machine", word, "low_speed_full_kmh", "low_speed_zero_kmh");
  check_above(loader, "machine", word, "derate_end_c", "derate_start_c");
  const double continuous = number(loader, "machine", word, "shaft_torque_continuous_nm", key);
  if (machine->shaft_torque_continuous > machine->shaft_torque_peak) {
    bw_loader_fail_key(loader, key, "%.15g N m is above the peak torque %.15g N m; lower it",
                       continuous, machine->shaft_torque_peak);
  }
  const double base = machine->power_peak / machine->shaft_torque_peak;
  const double breakdown = number(loader, "machine", word, "breakdown_rpm", key);
  const double per_rpm = machine->omega_breakdown / breakdown;
  if (machine->torque_table.nx == 0 && machine->omega_breakdown < base) {
    bw_loader_fail_key(
        loader, key,
        "%.15g rev/min is below base speed %.5g rev/min, where peak power meets peak "
        "torque; raise it",
        breakdown, base / per_rpm);
  }
}

static void check_friction(struct bw_case_loader *loader, const char *word, int i) {
  check_above(loader, "friction", word, "pressure_max_bar", "threshold_bar");
  /* the ring is a part of the rotors' node; 1e-9 for a ring given to be all of it */
  char key[KEY_SIZE];
  const double ring = bw_disc_capacity(&loader->target->disc[i]);
  const double whole = loader->target->brakes.axle[i].heat_capacity;
  if (ring > whole * (1.0 + 1e-9)) {
    const double depth = number(loader, "rotor", word, "depth_mm", key);
    bw_loader_fail_key(loader, key,
                       "%.15g mm make a ring of %.5g J/K, more than the whole rotors' "
                       "friction.%s.heat_capacity_j_per_k of %.5g; at most %.3g mm fit",
                       depth, ring, word, whole, depth * whole / ring);
  }
}

/* both wheels must keep load on the level without braking: the centre of gravity is between */
static void check_load(struct bw_case_loader *loader, const char *word) {
  char key[KEY_SIZE];
  const double cg = number(loader, "vehicle", word, "cg_to_front_m", key);
  const double wheelbase = bw_param_number(loader->values, "vehicle.wheelbase_m");
  if (!(cg < wheelbase)) {
    bw_loader_fail_key(loader, key, "%.15g m is not ahead of the rear axle at %.15g m; lower it",
                       cg, wheelbase);
    return;
  }
  const double height = number(loader, "vehicle", word, "cg_height_m", key);
  const double adhesion = loader->target->vehicle.adhesion;
  if (!(cg > adhesion * height)) {
    bw_loader_fail_key(loader, key,
                       "at %.15g m the rear wheels lift at %.3g m/s2, which the road's adhesion of "
                       "%.15g allows; lower it or move the centre of gravity back",
                       height, BW_GRAVITY * cg / height, adhesion);
  }
}

static void check_vehicle(struct bw_case_loader *loader) {
  const struct bw_vehicle *vehicle = &loader->target->vehicle;
  for (int i = 0; i < BW_LOAD_STATES; i++) {
    check_load(loader, LOAD_WORDS[i]);
  }
  if (vehicle->load[BW_LOAD_LADEN].mass < vehicle->load[BW_LOAD_UNLADEN].mass) {
    bw_loader_fail_key(loader, "vehicle.laden.mass_kg",
                       "%.15g kg is below the unladen mass %.15g kg; swap or mend them",
                       vehicle->load[BW_LOAD_LADEN].mass, vehicle->load[BW_LOAD_UNLADEN].mass);
  }
}

static void check_ocv(struct bw_case_loader *loader) {
  const struct bw_param_value *value = bw_param_value(loader->values, "battery.ocv");
  for (size_t i = 1; i < value->rows.count; i++) {
    const double before = value->rows.cell[2 * i - 1];
    const double here = value->rows.cell[2 * i + 1];
    if (here < before) {
      BW_LOADER_FAIL(loader, value->file, value->rows.line[i],
                     "battery.ocv: voltage_v %.15g falls below %.15g of the row before; voltage "
                     "must not fall with charge",
                     here, before);
    }
  }
}

static void check_charge_limits(struct bw_case_loader *loader) {
  const struct bw_param_value *value = bw_param_value(loader->values, "battery.charge_limits");
  for (size_t i = 0; i < value->rows.count; i++) {
    const double *cell = &value->rows.cell[3 * i];
    if (cell[2] < cell[1]) {
      BW_LOADER_FAIL(loader, value->file, value->rows.line[i],
                     "battery.charge_limits: pulse_a %.15g is below continuous_a %.15g; raise it",
                     cell[2], cell[1]);
    }
  }
}

static void check_battery(struct bw_case_loader *loader) {
  const struct bw_battery *battery = &loader->target->battery;
  const enum bw_status before = loader->status;
  check_ocv(loader);
  check_charge_limits(loader);
  if (loader->status != before) {
    return;
  }
  const double open = bw_table1_at(&battery->ocv, battery->start_charge);
  const double soc = bw_param_number(loader->values, "battery.soc_percent");
  if (open > battery->voltage_max) {
    bw_loader_fail_key(loader, "battery.voltage_max_v",
                       "%.15g V is below the open-circuit voltage %.6g V at %.15g %% charge; raise "
                       "it or start with less charge",
                       battery->voltage_max, open, soc);
  }
  if (!(open > battery->voltage_min)) {
    bw_loader_fail_key(loader, "battery.voltage_min_v",
                       "%.15g V is not below the open-circuit voltage %.6g V at %.15g %% charge; "
                       "lower it or start with more charge",
                       battery->voltage_min, open, soc);
  }
}

/* `long_key` must be a whole multiple of `short_key`, at most `most` times */
static void check_multiple(struct bw_case_loader *loader, const char *long_key,
                           const char *short_key, double most) {
  const double total = bw_param_number(loader->values, long_key);
  const double part = bw_param_number(loader->values, short_key);
  const double ratio = total / part;
  const double whole = round(ratio);
  /* decimal fractions such as 0.1 are not exact: allow a few rounding errors */
  if (whole < 1.0 || fabs(ratio - whole) > 1e-9 * whole) {
    bw_loader_fail_key(loader, long_key,
                       "%.15g ms is no whole multiple of %s of %.15g ms; change one of them", total,
                       short_key, part);
  } else if (whole > most) {
    bw_loader_fail_key(loader, long_key,
                       "%.15g ms is more than %.15g times %s of %.15g ms; lower it or raise the "
                       "other",
                       total, most, short_key, part);
  }
}

/* commands under way are kept for so many periods */
static void check_dead_times(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  double longest = 0.0;
  for (int i = 0; i < 2; i++) {
    const double machine = target->machine[i].is_fitted ? target->machine[i].dead_time : 0.0;
    longest = bw_max(longest, bw_max(machine, target->brakes.axle[i].dead_time));
  }
  if (!(longest <= (double)(BW_DELAY_PERIODS - 2) * target->control_period)) {
    bw_loader_fail_key(loader, "control.period_ms",
                       "%.15g ms is too short for a dead time of %.15g ms, at most %d periods; "
                       "lengthen it or shorten the dead time",
                       1e3 * target->control_period, 1e3 * longest, BW_DELAY_PERIODS - 2);
  }
}

static void check_run(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  check_multiple(loader, "control.period_ms", "simulation.step_ms", BW_SUBSTEPS_MAX);
  check_dead_times(loader);
  check_multiple(loader, "output.trace_period_ms", "control.period_ms", 1e6);
  if (!(target->overrun.fade_full > target->overrun.fade_zero)) {
    bw_loader_fail_key(loader, "overrun.fade_full_kmh", "not above fade_zero_kmh; raise it");
  }
  if (!(target->assess.event_off < target->assess.event_on)) {
    bw_loader_fail_key(loader, "assess.event_off_mps2", "not below event_on_mps2; lower it");
  }
  if (!(target->assess.lamp_on > 0.7)) {
    bw_loader_fail_key(loader, "assess.lamp_on_mps2", "%.15g m/s2 is not above 0.7 m/s2; raise it",
                       target->assess.lamp_on);
  }
  const double fastest = 1.0 / (2.0 * target->step);
  if (!(target->assess.jerk_cutoff < 0.5 * fastest)) {
    bw_loader_fail_key(loader, "assess.jerk_cutoff_hz",
                       "%.15g Hz is too fast for steps of %.15g ms; keep it below %.4g Hz",
                       target->assess.jerk_cutoff, 1e3 * target->step, 0.5 * fastest);
  }
}

static void check_trace(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  if (target->trace.n == 0) {
    return;
  }
  const bool is_speed = target->trace.kind == BW_TRACE_SPEED;
  const bool may_rest = target->driver.goes_on_at_rest;
  if (!is_speed && !may_rest && !(target->driver.initial_speed > 0.0)) {
    bw_loader_fail_key(loader, "driver.initial_speed_kmh",
                       "the manoeuvre '%.100s' starts from rest; give the speed it starts from",
                       target->trace.name);
  }
  if (is_speed && !target->machine[BW_FRONT].is_fitted && !target->machine[BW_REAR].is_fitted) {
    bw_loader_fail_key(loader, "machine.front.fitted",
                       "no machine is fitted to drive the cycle '%.100s'; fit one or name a "
                       "manoeuvre",
                       target->trace.name);
  }
}

void bw_case_cross_check(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  check_vehicle(loader);
  for (int i = 0; i < BW_AXLES; i++) {
    check_machine(loader, AXLE_WORDS[i], &target->machine[i]);
    check_friction(loader, AXLE_WORDS[i], i);
  }
  if (!(target->brakes.axle[BW_FRONT].per_pressure + target->brakes.axle[BW_REAR].per_pressure >
        0.0)) {
    bw_loader_fail_key(loader, "friction.front.torque_per_pressure_nm_per_bar",
                       "neither axle has friction brakes; give one of them torque per pressure");
  }
  check_battery(loader);
  check_run(loader);
  check_trace(loader);
  bw_case_check_slip(loader);
  bw_case_check_fault(loader);
  bw_case_check_signal(loader);
  bw_case_check_park(loader);
}
