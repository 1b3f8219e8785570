/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/books.h"

#include "extrema.h"

#include <math.h>

static void close_motion(struct bw_plant *plant, const struct bw_hot_sums *sums, double sin_slope,
                         struct bw_sample *sample) {
  const double half_mass = 0.5 * plant->effective_mass;
  sample->speed_end = plant->state.speed[0];
  sample->distance_start = plant->distance;
  sample->distance = sums->distance[0];
  sample->height = sums->distance[0] * sin_slope;
  sample->sin_slope = sin_slope;
  sample->deceleration = (sample->speed_start - sample->speed_end) * plant->per_period;
  sample->road_work = sums->road[0];
  if (plant->loaded->fidelity == BW_FIDELITY_ROLLING) {
    sample->kinetic_start = half_mass * sample->speed_start * sample->speed_start;
    sample->kinetic_end = half_mass * sample->speed_end * sample->speed_end;
  }
  sample->potential = plant->statics.weight * sample->height;
  plant->distance += sums->distance[0];
  plant->deceleration = sample->deceleration;
}

static void close_machine(struct bw_plant *plant, const struct bw_hot_sums *sums, int i,
                          struct bw_sample *sample) {
  const struct bw_machine *machine = &plant->loaded->machine[i];
  struct bw_sample_axle *axle = &sample->axle[i];
  if (!machine->is_fitted) {
    axle->omega = axle->machine_work = axle->drive_work = axle->shaft_work = 0.0;
    axle->gear_loss = axle->machine_loss = axle->dc_work = 0.0;
    axle->machine_temperature = plant->machine_temperature[i];
    return;
  }
  const double per_step = sample->substeps > 0 ? plant->per_substeps : 1.0;
  const double wheel_way = sample->distance * (1.0 - axle->slip);
  axle->omega = wheel_way * plant->fine.per_radius[0] * plant->per_period * machine->ratio;
  if (plant->loaded->fidelity == BW_FIDELITY_SLIP) {
    axle->omega = plant->slip_state.sums.omega[i] * machine->ratio;
  }
  axle->machine_work = sums->machine_brake[i][0];
  axle->drive_work = sums->machine_drive[i][0];
  axle->shaft_work =
      axle->machine_work * machine->efficiency - axle->drive_work * plant->per_efficiency[i];
  axle->gear_loss = axle->machine_work - axle->drive_work - axle->shaft_work;
  const double effective = sqrt(sums->shaft_square[i][0] * per_step);
  const bool is_asked = effective > 0.0 || fabs(axle->machine_command) > 0.0;
  axle->machine_loss =
      bw_machine_loss(machine, axle->omega, effective, is_asked) * sample->duration;
  if (plant->fault.level > 0.0 && bw_fault_is_dead(&plant->loaded->fault, plant->fault.level, i)) {
    axle->machine_loss = axle->shaft_work;
  }
  axle->dc_work = axle->shaft_work - axle->machine_loss;
  const double away =
      machine->cooling * (plant->machine_temperature[i] - machine->coolant_temperature);
  plant->machine_temperature[i] +=
      (axle->machine_loss - away * sample->duration) * plant->per_heat_capacity[i];
  axle->machine_temperature = plant->machine_temperature[i];
}

static void close_friction(struct bw_plant *plant, const struct bw_hot_sums *sums,
                           struct bw_sample *sample) {
  double power[2];
  for (int i = 0; i < 2; i++) {
    struct bw_sample_axle *axle = &sample->axle[i];
    axle->friction_work = sums->friction[i][0];
    axle->tyre_loss = sums->tyre[i][0];
    axle->pressure = plant->state.pressure[i][0];
    power[i] = axle->friction_work * plant->per_period;
  }
  bw_friction_warm(&plant->rotor_pace, plant->rotor_temperature, power,
                   0.5 * (sample->speed_start + sample->speed_end));
  sample->axle[0].rotor_temperature = plant->rotor_temperature[0];
  sample->axle[1].rotor_temperature = plant->rotor_temperature[1];
}

/* contact forces and slip as the wheels had them */
static void take_slip(struct bw_plant *plant, int i, struct bw_sample_axle *axle) {
  const struct bw_slip *slip = &plant->slip_state;
  axle->load = slip->load[i];
  axle->contact_force = slip->sums.force[i];
  axle->slip = slip->sums.slip[i];
  axle->slip_peak = slip->sums.slip_peak[i];
  axle->shaft_torque = slip->sums.shaft[i];
  axle->shaft_loss = slip->sums.shaft_loss[i];
}

/* mean torques, contact forces and slip over the period */
static void close_forces(struct bw_plant *plant, const struct bw_hot_sums *sums,
                         struct bw_sample *sample) {
  const double per_step = sample->substeps > 0 ? plant->per_substeps : 1.0;
  const double per_radius = plant->fine.per_radius[0];
  double braking = 0.0;
  for (int i = 0; i < 2; i++) {
    struct bw_sample_axle *axle = &sample->axle[i];
    axle->machine_torque = sums->machine_torque[i][0] * per_step;
    axle->friction_torque = sums->friction_torque[i][0] * per_step;
    axle->load = plant->load[i];
    const double inertia = plant->axle_inertia[i] * sample->deceleration * per_radius;
    const double brake = bw_max(axle->machine_torque, 0.0) + axle->friction_torque;
    axle->contact_force = (axle->machine_torque + axle->friction_torque - inertia) * per_radius;
    axle->brake_force = brake > 0.0 ? bw_max(0.0, brake - inertia) * per_radius : 0.0;
    braking += axle->brake_force;
    axle->slip = sample->is_parked ? 0.0 : axle->contact_force * plant->per_slip_load[i];
    if (plant->loaded->fidelity == BW_FIDELITY_SLIP) {
      take_slip(plant, i, axle);
    }
    plant->slip[i] = axle->slip;
  }
  /* on the level at the braking rate of the brake forces alone */
  const double front = plant->statics.front + plant->statics.shift * plant->per_mass * braking;
  sample->axle[0].load_level = front;
  sample->axle[1].load_level = plant->statics.weight - front;
}

static enum bw_status close_battery(struct bw_plant *plant, struct bw_sample *sample,
                                    struct bw_diag *diag) {
  const bool is_cut_off =
      plant->fault.level > 0.0 && bw_fault_is_cut_off(&plant->loaded->fault, plant->fault.level);
  const double auxiliaries = is_cut_off ? 0.0 : plant->loaded->battery.auxiliaries;
  const double dc = (sample->axle[0].dc_work + sample->axle[1].dc_work) * plant->per_period;
  struct bw_battery_step step;
  const enum bw_status status = bw_battery_advance(&plant->loaded->battery, &plant->battery,
                                                   dc - auxiliaries, sample->duration, &step);
  if (status != BW_OK) {
    return bw_fail(diag, status,
                   "the battery cannot carry %.6g kW at %.3f s (state of charge %.4g %%); raise "
                   "battery.soc_percent or lower the demand",
                   (dc - auxiliaries) * 1e-3, sample->time, plant->battery.charge * 100.0);
  }
  sample->battery_work = step.terminals;
  sample->cells_work = step.cells;
  sample->rc_work = step.rc;
  sample->resistance_loss = step.resistance;
  sample->auxiliaries_work = auxiliaries * sample->duration;
  sample->current = step.current;
  sample->voltage = step.voltage;
  sample->charge = plant->battery.charge;
  return BW_OK;
}

static void close_standstill(const struct bw_plant *plant, const struct bw_hot_sums *sums,
                             double sin_slope, struct bw_sample *sample) {
  sample->hold_shortfall = 0.0;
  if (plant->loaded->fidelity == BW_FIDELITY_SLIP) {
    sample->hold_shortfall = fmax(0.0, plant->slip_state.sums.shortfall);
    sample->antilock_time = plant->slip_state.sums.antilock;
    sample->locked_time = plant->slip_state.sums.locked;
    return;
  }
  if (!sample->is_parked) {
    return;
  }
  const struct bw_vehicle *vehicle = &plant->loaded->vehicle;
  const double pull = fabs(vehicle->load[vehicle->load_state].mass * BW_GRAVITY * sin_slope);
  const double capacity =
      (sums->friction_torque[0][0] + sums->friction_torque[1][0]) / vehicle->tyre_radius;
  sample->hold_shortfall = bw_max(0.0, pull - capacity);
}

enum bw_status bw_books_close(struct bw_plant *plant, const struct bw_limits *limits,
                              const struct bw_hot_sums *sums, double sin_slope,
                              struct bw_sample *sample, struct bw_diag *diag) {
  close_motion(plant, sums, sin_slope, sample);
  close_forces(plant, sums, sample);
  for (int i = 0; i < 2; i++) {
    close_machine(plant, sums, i, sample);
    sample->axle[i].available = limits->joint[i];
    sample->axle[i].available_alone = limits->alone[i];
    sample->axle[i].envelope = limits->envelope[i];
    sample->axle[i].limit = limits->binding[i];
  }
  close_friction(plant, sums, sample);
  sample->charge_power = limits->charge_power;
  sample->charge_limit = limits->charge_binding;
  close_standstill(plant, sums, sin_slope, sample);
  return close_battery(plant, sample, diag);
}
