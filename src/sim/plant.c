/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/plant.h"

#include "extrema.h"
#include "sim/books.h"
#include "sim/command.h"

#include <math.h>

/* relative distance at which a decaying state is set onto its target: smaller differences only
 * end as denormal numbers, which are slow */
static const double SNAP = 1e-9;

/* 1; below it the rounding of a step towards a command cannot carry the state past it */
static const double GREATEST_CALM_GAIN = 0.999;

/* m/s2, more than any car brakes or pulls: decides which periods may touch standstill */
static const double GREATEST_ACCELERATION = 30.0;

/* 1 - exp(-step/lag) and the share of that change which the mean over the step has reached */
static void lag_factors(double lag, double step, double *gain, double *mean) {
  if (lag <= 0.0) {
    *gain = 1.0;
    *mean = 1.0;
    return;
  }
  const double x = step / lag;
  *gain = -expm1(-x);
  *mean = (1.0 - *gain / x) / *gain;
}

/* see struct bw_hot_coefficients */
static double room(double gain, double most) {
  return gain <= GREATEST_CALM_GAIN ? most : -1.0;
}

/* Split a dead time into whole periods, returned, and the share of each sub-step, and of a step
 * of one whole period, which the newer command fills. One split serves both: two divisions that
 * round to different sides of a whole period would shift one of them by a period. */
static size_t split_dead_time(double dead_time, double step, size_t substeps,
                              double fine[][BW_LANES], double whole[BW_LANES]) {
  const double steps = dead_time / step;
  const double periods = floor(steps / (double)substeps);
  const double rest = steps - periods * (double)substeps;
  for (size_t k = 0; k < substeps; k++) {
    fine[k][0] = bw_min(1.0, bw_max(0.0, (double)k + 1.0 - rest));
  }
  whole[0] = 1.0 - rest / (double)substeps;
  return (size_t)periods;
}

static void make_coefficients(const struct bw_case *loaded, double effective_mass, double step,
                              struct bw_hot_coefficients *c) {
  c->dt = step;
  c->per_radius[0] = 1.0 / loaded->vehicle.tyre_radius;
  c->dt_per_mass[0] = step / effective_mass;
  c->road_f0[0] = loaded->vehicle.road_f0;
  c->road_f1[0] = loaded->vehicle.road_f1;
  c->road_f2[0] = loaded->vehicle.road_f2;
  c->road_d1[0] = c->road_f1[0] * c->dt_per_mass[0];
  c->road_d2[0] = c->road_f2[0] * c->dt_per_mass[0];
  c->road_now[0] = 1.5 * c->road_d2[0];
  c->mass_per_dt[0] = effective_mass / step;
  c->per_inertia[0] = c->per_radius[0] * c->dt_per_mass[0];
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    if (machine->is_fitted) {
      lag_factors(machine->lag, step, &c->machine_gain[i][0], &c->machine_mean[i][0]);
      c->machine_slew[i][0] = machine->shaft_slew * machine->ratio * step;
      c->machine_room[i][0] = room(c->machine_gain[i][0], c->machine_slew[i][0]);
      c->to_shaft_brake[i][0] = machine->efficiency / machine->ratio;
      c->to_shaft_drive[i][0] = 1.0 / (machine->efficiency * machine->ratio);
    }
    lag_factors(friction->lag, step, &c->friction_gain[i][0], &c->friction_mean[i][0]);
    c->build[i][0] = friction->build * step;
    c->release[i][0] = friction->release * step;
    c->friction_room[i][0] = room(c->friction_gain[i][0], bw_min(c->build[i][0], c->release[i][0]));
    c->threshold[i][0] = friction->threshold;
  }
}

static enum bw_status make_delays(const struct bw_case *loaded, struct bw_plant *plant,
                                  struct bw_diag *diag) {
  const size_t substeps = (size_t)lround(loaded->control_period / loaded->step);
  plant->fine.substeps = substeps;
  plant->whole.substeps = 1;
  for (int i = 0; i < 2; i++) {
    const double machine = loaded->machine[i].is_fitted ? loaded->machine[i].dead_time : 0.0;
    const double friction = loaded->brakes.axle[i].dead_time;
    const double longest = (double)(BW_DELAY_PERIODS - 2) * loaded->control_period;
    if (!(bw_max(machine, friction) <= longest)) {
      return bw_fail(diag, BW_E_RANGE,
                     "dead time %g ms is longer than %d control periods; lengthen "
                     "control.period_ms or shorten the dead time",
                     bw_max(machine, friction) * 1e3, BW_DELAY_PERIODS - 2);
    }
    plant->machine_delay[i] =
        split_dead_time(machine, loaded->step, substeps, plant->fine.machine_new[i],
                        plant->whole.machine_new[i][0]);
    plant->friction_delay[i] =
        split_dead_time(friction, loaded->step, substeps, plant->fine.friction_new[i],
                        plant->whole.friction_new[i][0]);
  }
  bw_hot_sort_steps(&plant->fine);
  return BW_OK;
}

enum bw_status bw_plant_start(const struct bw_case *loaded, double speed, struct bw_plant *plant,
                              struct bw_diag *diag) {
  *plant = (struct bw_plant){.loaded = loaded};
  plant->effective_mass = bw_case_effective_mass(loaded);
  plant->per_period = 1.0 / loaded->control_period;
  plant->rule = bw_limits_rule(loaded);
  plant->statics = bw_vehicle_statics(&loaded->vehicle);
  plant->per_slip_stiffness = 1.0 / loaded->vehicle.slip_stiffness;
  plant->per_mass = BW_GRAVITY / plant->statics.weight;
  make_coefficients(loaded, plant->effective_mass, loaded->step, &plant->fine);
  make_coefficients(loaded, plant->effective_mass, loaded->control_period, &plant->whole);
  BW_TRY(make_delays(loaded, plant, diag));
  plant->per_substeps = 1.0 / (double)plant->fine.substeps;
  plant->state.speed[0] = speed;
  plant->state.half_before[0] = 0.5 * speed;
  plant->battery = bw_battery_start(&loaded->battery);
  plant->has_links = bw_message_acts(&loaded->message);
  plant->reach = GREATEST_ACCELERATION * loaded->control_period;
  plant->least_load = BW_LIFTED_LOAD_SHARE * plant->statics.weight;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    plant->machine_temperature[i] = loaded->machine[i].start_temperature;
    plant->rotor_temperature[i] = loaded->brakes.axle[i].start_temperature;
    plant->axle_inertia[i] = bw_case_axle_inertia(loaded, i);
    plant->machine_near[i] =
        SNAP * (loaded->machine[i].shaft_torque_peak * loaded->machine[i].ratio);
    plant->pressure_near[i] = SNAP * friction->pressure_max;
    plant->friction_most[i] =
        (friction->pressure_max - friction->threshold) * friction->per_pressure;
    bw_friction_pace(friction, loaded->ambient_temperature, loaded->control_period, i,
                     &plant->rotor_pace);
    if (loaded->machine[i].is_fitted) {
      plant->per_heat_capacity[i] = 1.0 / loaded->machine[i].heat_capacity;
      plant->per_efficiency[i] = 1.0 / loaded->machine[i].efficiency;
    }
  }
  if (loaded->fidelity == BW_FIDELITY_SLIP) {
    bw_slip_start(loaded, speed, &plant->slip_state);
  }
  return BW_OK;
}

void bw_plant_hold_back(const struct bw_plant *plant, struct bw_limits *limits) {
  if (plant->loaded->fidelity != BW_FIDELITY_SLIP) {
    return;
  }
  for (int i = 0; i < 2; i++) {
    const double cap = plant->slip_state.axle[i].held_back.cap;
    limits->alone[i] = fmin(limits->alone[i], cap);
    limits->joint[i] = fmin(limits->joint[i], cap);
    limits->continuous[i] = fmin(limits->continuous[i], cap);
  }
}

/* Pick the two commands of one line that meet in this period after a dead time of `delay` periods.
 * The difference may run below zero and round, the places are a power of two. */
static void pick_commands(const double *line, size_t newest, size_t delay, double *old,
                          double *step) {
  const size_t at = newest - delay;
  const double before = line[(at - 1) % BW_DELAY_PERIODS];
  *step = line[at % BW_DELAY_PERIODS] - before;
  *old = before;
}

static void pick_all_commands(struct bw_plant *plant) {
  struct bw_hot_period *period = &plant->period;
  for (int i = 0; i < 2; i++) {
    if (plant->loaded->machine[i].is_fitted) {
      pick_commands(plant->machine_command[i], plant->newest, plant->machine_delay[i],
                    &period->machine_old[i][0], &period->machine_step[i][0]);
    }
    pick_commands(plant->pressure_command[i], plant->newest, plant->friction_delay[i],
                  &period->friction_old[i][0], &period->friction_step[i][0]);
  }
}

/* the output is held inside the same limits as the command: a limit that falls during the dead
 * time would otherwise let delivered torque exceed what the bound allows */
static void guard_machines(struct bw_plant *plant, const struct bw_limits *limits) {
  struct bw_hot_period *period = &plant->period;
  for (int i = 0; i < 2; i++) {
    if (plant->loaded->machine[i].is_fitted) {
      const double old = period->machine_old[i][0];
      const double command = bw_max(old, old + period->machine_step[i][0]);
      period->machine_max[i][0] =
          bw_min(limits->alone[i], bw_max(0.0, bw_max(command, plant->state.machine[i][0])));
      period->machine_min[i][0] = -limits->drive[i];
    }
  }
  if (period->machine_max[0][0] > 0.0 && period->machine_max[1][0] > 0.0) {
    const double top[2] = {period->machine_max[0][0], period->machine_max[1][0]};
    const double factor = bw_limits_scale(plant->loaded, limits, top);
    period->machine_max[0][0] = factor * top[0];
    period->machine_max[1][0] = factor * top[1];
  }
}

static void road_and_tyres(struct bw_plant *plant, double sin_slope) {
  struct bw_hot_period *period = &plant->period;
  const double per_radius = plant->fine.per_radius[0];
  bw_statics_loads(&plant->statics, sin_slope, plant->deceleration, plant->load);
  period->slope_force[0] = plant->statics.weight * sin_slope;
  for (int i = 0; i < 2; i++) {
    plant->per_slip_load[i] = plant->per_slip_stiffness / bw_max(plant->load[i], plant->least_load);
    period->slip_gain[i][0] = plant->per_slip_load[i] * per_radius;
    period->slip_free[i][0] =
        plant->axle_inertia[i] * plant->deceleration * per_radius * period->slip_gain[i][0];
  }
}

/* the pads' gain matters, and is looked up, only while there is pressure or a command for it */
static bool press_pads(struct bw_plant *plant) {
  struct bw_hot_period *period = &plant->period;
  double pressed = 0.0;
  for (int i = 0; i < 2; i++) {
    pressed += plant->state.pressure[i][0] + period->friction_old[i][0] +
               fabs(period->friction_step[i][0]);
    period->friction_gain[i][0] = 0.0;
  }
  if (pressed <= 0.0) {
    return false;
  }
  for (int i = 0; i < 2; i++) {
    period->friction_gain[i][0] =
        bw_friction_gain(&plant->loaded->brakes.axle[i], plant->rotor_temperature[i]);
  }
  return true;
}

/* a machine at zero that is neither told nor forced (a shorted one) to leave it */
static bool is_idle(const struct bw_plant *plant, int i) {
  const struct bw_hot_period *period = &plant->period;
  const double command = fabs(period->machine_old[i][0]) + fabs(period->machine_step[i][0]);
  return !(fabs(plant->state.machine[i][0]) > 0.0) && !(command > 0.0) &&
         period->machine_min[i][0] <= 0.0;
}

static unsigned hot_flags(const struct bw_plant *plant, bool is_pressed) {
  unsigned flags = plant->state.speed[0] < plant->reach ? BW_HOT_STANDSTILL : 0;
  flags |= is_pressed ? BW_HOT_FRICTION : 0;
  const unsigned machine_bit[2] = {BW_HOT_FRONT_MACHINE, BW_HOT_REAR_MACHINE};
  for (int i = 0; i < 2; i++) {
    if (plant->loaded->machine[i].is_fitted && !is_idle(plant, i)) {
      flags |= machine_bit[i];
    }
  }
  return bw_hot_is_calm(&plant->fine, &plant->period, &plant->state, flags) ? flags | BW_HOT_CALM
                                                                            : flags;
}

static void snap(double *state, double target, double near) {
  if (fabs(*state - target) <= near) {
    *state = target;
  }
}

static void snap_actuators(struct bw_plant *plant, bool is_pressed) {
  const struct bw_hot_period *period = &plant->period;
  for (int i = 0; i < 2; i++) {
    if (plant->loaded->machine[i].is_fitted) {
      snap(&plant->state.machine[i][0], period->machine_old[i][0] + period->machine_step[i][0],
           plant->machine_near[i]);
    }
    if (is_pressed) {
      snap(&plant->state.pressure[i][0], period->friction_old[i][0] + period->friction_step[i][0],
           plant->pressure_near[i]);
    }
  }
}

static enum bw_status check_finite(const struct bw_plant *plant, const struct bw_sample *sample,
                                   struct bw_diag *diag) {
  const double sum = plant->state.speed[0] + plant->state.machine[0][0] +
                     plant->state.machine[1][0] + plant->state.pressure[0][0] +
                     plant->state.pressure[1][0] + plant->machine_temperature[0] +
                     plant->machine_temperature[1] + plant->rotor_temperature[0] +
                     plant->rotor_temperature[1] + plant->battery.charge;
  if (isfinite(sum)) {
    return BW_OK;
  }
  const char *signal = !isfinite(plant->state.speed[0]) ? "speed" : "an actuator or temperature";
  return bw_fail(diag, BW_E_NUMERIC,
                 "%s became non-finite at %.3f s, last good speed %.6g m/s; check the case for "
                 "extreme values or shorten simulation.step_ms",
                 signal, sample->time, sample->speed_start);
}

/* the period's sub-steps with wheels of their own */
static void advance_slip(struct bw_plant *plant, struct bw_sample *sample) {
  struct bw_slip *slip = &plant->slip_state;
  const bool was_held = slip->is_held;
  sample->kinetic_start = bw_slip_energy(plant->loaded, slip);
  bw_slip_run(plant->loaded, &plant->fine, &plant->period, &plant->state, slip, &plant->sums,
              plant->delivered, sample->body_deceleration);
  plant->state.speed[0] = slip->speed;
  sample->kinetic_end = bw_slip_energy(plant->loaded, slip);
  sample->is_parked = was_held && slip->sums.held > (1.0 - SNAP) * sample->duration;
  sample->substeps = plant->fine.substeps;
  /* a stuck brake says anew in each period what it keeps */
  plant->period.friction_floor[0][0] = 0.0;
  plant->period.friction_floor[1][0] = 0.0;
}

/* the period's sub-steps, without wheels of their own */
static void advance_rolling(struct bw_plant *plant, bool may_park, bool is_pressed,
                            struct bw_sample *sample) {
  sample->is_parked = may_park && plant->state.speed[0] <= 0.0;
  if (sample->is_parked) {
    bw_hot_park(&plant->whole, &plant->period, &plant->state, &plant->sums);
    sample->substeps = 0;
  } else {
    bw_hot_run(&plant->fine, &plant->period, &plant->state, &plant->sums, plant->delivered,
               hot_flags(plant, is_pressed));
    sample->substeps = plant->fine.substeps;
  }
}

/* NOLINTNEXTLINE(readability-function-size): once a period, and each argument is of its own kind */
enum bw_status bw_plant_advance(struct bw_plant *plant, const struct bw_limits *limits,
                                const struct bw_order *order, double sin_slope, bool may_park,
                                struct bw_sample *sample, struct bw_diag *diag) {
  const bool is_slip = plant->loaded->fidelity == BW_FIDELITY_SLIP;
  const double fault = plant->fault.level;
  bw_command_issue(plant, limits, order, sample);
  pick_all_commands(plant);
  if (fault > 0.0) {
    bw_fault_press(plant->loaded, fault, &plant->period, &plant->state);
  }
  guard_machines(plant, limits);
  if (fault > 0.0) {
    bw_fault_force(plant->loaded, fault, bw_plant_speed_ahead(plant), plant->slip, &plant->period);
  }
  road_and_tyres(plant, sin_slope);
  const bool is_pressed = press_pads(plant);
  sample->speed_start = plant->state.speed[0];
  if (is_slip) {
    advance_slip(plant, sample);
  } else {
    advance_rolling(plant, may_park, is_pressed, sample);
  }
  snap_actuators(plant, is_pressed || is_slip);
  BW_TRY(bw_books_close(plant, limits, &plant->sums, sin_slope, sample, diag));
  if (is_slip && sample->is_parked) {
    sample->substeps = 0;
  }
  return check_finite(plant, sample, diag);
}
