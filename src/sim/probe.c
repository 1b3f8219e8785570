/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/probe.h"

#include "alloc.h"
#include "extrema.h"
#include "sim/command.h"

#include <math.h>
#include <string.h>

/* five time constants leave 0.7 % of a lag, see model of the probe */
static const double SETTLE_FACTOR = 5.0;
/* of the demand: a torque that moves less than this within the settling time stands still */
static const double STILL = 1e-5;
/* N m, the same where next to nothing is demanded */
static const double STILL_LEAST = 1e-3;

enum { WATCHED = 6 };

struct bw_prober {
  struct bw_case own; /* the case without faults, wheels rolling */
  const struct bw_blend_strategy *strategy;
  const double *params;
  const struct bw_observer *guard;
  struct bw_blend_info info;
  void *memory;
  struct bw_plant start; /* everything released */
  struct bw_plant plant;
  struct bw_limits limits;
  struct bw_sample sample;
  size_t settle; /* periods */
};

static size_t settle_periods(const struct bw_case *loaded) {
  double slowest = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    slowest = bw_max(slowest, friction->dead_time + friction->lag);
    if (machine->is_fitted) {
      slowest = bw_max(slowest, machine->dead_time + machine->lag);
    }
  }
  return (size_t)ceil(SETTLE_FACTOR * slowest / loaded->control_period) + 2;
}

enum bw_status bw_prober_create(const struct bw_case *loaded,
                                const struct bw_blend_strategy *strategy, const double *params,
                                const struct bw_observer *guard, struct bw_prober **out,
                                struct bw_diag *diag) {
  *out = NULL;
  struct bw_prober *prober = bw_alloc(1, sizeof *prober);
  void *memory = bw_alloc(1, strategy->state_size);
  if (prober == NULL || memory == NULL) {
    bw_free(memory);
    bw_free(prober);
    return bw_fail(diag, BW_E_MEMORY, "no memory to probe '%s'; close other programs",
                   strategy->name);
  }
  prober->own = *loaded;
  prober->own.fidelity = BW_FIDELITY_ROLLING;
  prober->own.fault.kind = BW_FAULT_NONE;
  prober->strategy = strategy;
  prober->params = params;
  prober->guard = guard;
  prober->memory = memory;
  prober->settle = settle_periods(loaded);
  bw_case_blend_info(&prober->own, &prober->info);
  const enum bw_status status = bw_plant_start(&prober->own, 0.0, &prober->start, diag);
  if (status != BW_OK) {
    bw_prober_destroy(prober);
    return status;
  }
  *out = prober;
  return BW_OK;
}

void bw_prober_destroy(struct bw_prober *prober) {
  if (prober != NULL) {
    bw_free(prober->memory);
    bw_free(prober);
  }
}

static void find_limits(struct bw_prober *prober, const struct bw_probe_setting *setting) {
  struct bw_battery_state battery = prober->start.battery;
  battery.charge = setting->charge;
  const struct bw_limits_input input = {
      .speed = setting->speed,
      .machine_temperature = {prober->start.machine_temperature[0],
                              prober->start.machine_temperature[1]},
      .battery = &battery,
      .charge_lost = setting->has_regeneration ? 0.0 : 1.0,
  };
  bw_limits_find(&prober->own, &input, &prober->limits);
  if (setting->has_regeneration) {
    return;
  }
  for (int i = 0; i < 2; i++) {
    prober->limits.alone[i] = prober->limits.joint[i] = prober->limits.continuous[i] = 0.0;
    prober->limits.pulse_left[i] = 0.0;
  }
}

static enum bw_status consult(const struct bw_prober *prober, const struct bw_blend_input *input,
                              const struct bw_blend_request *request, struct bw_diag *diag) {
  if (prober->guard == NULL || prober->guard->consult == NULL) {
    return BW_OK;
  }
  return prober->guard->consult(prober->guard->context, input, request, diag);
}

/* what sensors would say; `input` has time, speed, demands and charge already */
static void sense(const struct bw_prober *prober, struct bw_blend_input *input) {
  const struct bw_plant *plant = &prober->plant;
  const struct bw_vehicle *vehicle = &prober->own.vehicle;
  double torque[2];
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &prober->own.brakes.axle[i];
    const double above = bw_max(0.0, plant->state.pressure[i][0] - friction->threshold);
    input->machine_estimate[i] = plant->state.machine[i][0];
    input->friction_estimate[i] = above * friction->per_pressure;
    torque[i] = plant->state.machine[i][0] +
                above * bw_friction_gain(friction, plant->rotor_temperature[i]);
    input->machine_available[i] = prober->limits.joint[i];
    input->machine_available_alone[i] = prober->limits.alone[i];
    input->machine_available_continuous[i] = prober->limits.continuous[i];
    input->machine_pulse_left[i] = prober->limits.pulse_left[i];
  }
  const double force =
      (torque[0] + torque[1]) / vehicle->tyre_radius + bw_vehicle_road_load(vehicle, input->speed);
  input->deceleration = force / plant->effective_mass;
  bw_vehicle_axle_loads(vehicle, 0.0, input->deceleration, input->axle_load);
  for (int i = 0; i < 2; i++) {
    const double load = bw_max(input->axle_load[i], 1.0); /* N: an axle in the air cannot slip */
    input->slip[i] = torque[i] / (vehicle->tyre_radius * load * vehicle->slip_stiffness);
  }
}

static double moved(double from, double towards, double least, double most) {
  return from + bw_min(bw_max(towards - from, least), most);
}

/* actuators over one control period, by the exact exponential of their lag */
static void follow(struct bw_prober *prober) {
  struct bw_plant *plant = &prober->plant;
  const struct bw_hot_coefficients *c = &plant->whole;
  for (int i = 0; i < 2; i++) {
    const size_t machine_at = plant->newest + BW_DELAY_PERIODS - plant->machine_delay[i];
    const size_t friction_at = plant->newest + BW_DELAY_PERIODS - plant->friction_delay[i];
    double *torque = &plant->state.machine[i][0];
    double *pressure = &plant->state.pressure[i][0];
    if (prober->own.machine[i].is_fitted) {
      const double command = plant->machine_command[i][machine_at % BW_DELAY_PERIODS];
      *torque = moved(*torque, *torque + c->machine_gain[i][0] * (command - *torque),
                      -c->machine_slew[i][0], c->machine_slew[i][0]);
    }
    const double command = plant->pressure_command[i][friction_at % BW_DELAY_PERIODS];
    *pressure = moved(*pressure, *pressure + c->friction_gain[i][0] * (command - *pressure),
                      -c->release[i][0], c->build[i][0]);
  }
}

static enum bw_status step(struct bw_prober *prober, const struct bw_probe_setting *setting,
                           double time, double demand, struct bw_diag *diag) {
  struct bw_blend_input input = {
      .time = time,
      .speed = setting->speed,
      .demand_pedal = setting->is_overrun ? 0.0 : demand,
      .demand_overrun = setting->is_overrun ? demand : 0.0,
      .charge_power = prober->limits.charge_power,
      .state_of_charge = setting->charge,
  };
  sense(prober, &input);
  struct bw_order order = {.demand = demand, .demand_pedal = input.demand_pedal};
  struct bw_blend_request *request = &order.request;
  *request = (struct bw_blend_request){{(double)NAN, (double)NAN}, {(double)NAN, (double)NAN}};
  BW_TRY(consult(prober, &input, NULL, diag));
  prober->strategy->step(prober->memory, &prober->info, prober->params, &input, request);
  BW_TRY(consult(prober, &input, request, diag));
  for (int i = 0; i < 2; i++) {
    if (!isfinite(request->machine[i]) || !isfinite(request->friction[i])) {
      return bw_fail(diag, BW_E_NUMERIC,
                     "strategy '%s' returned a torque that is not a number when probed (%s axle, "
                     "speed %.6g m/s, demand %.6g N m); mend the strategy",
                     prober->strategy->name, i == 0 ? "front" : "rear", input.speed, demand);
    }
  }
  bw_command_issue(&prober->plant, &prober->limits, &order, &prober->sample);
  follow(prober);
  return BW_OK;
}

static void look(const struct bw_prober *prober, double seen[WATCHED]) {
  for (size_t i = 0; i < 2; i++) {
    seen[3 * i] = prober->sample.axle[i].machine_command;
    seen[3 * i + 1] = prober->sample.axle[i].friction_command;
    seen[3 * i + 2] = prober->plant.state.machine[i][0] +
                      prober->plant.state.pressure[i][0] * prober->info.friction_per_pressure[i];
  }
}

static bool is_still(const double seen[WATCHED], const double before[WATCHED], double demand) {
  const double most = bw_max(STILL * demand, STILL_LEAST);
  for (int i = 0; i < WATCHED; i++) {
    if (!(fabs(seen[i] - before[i]) <= most)) {
      return false;
    }
  }
  return true;
}

/* forces of torques that stay */
static void conclude(const struct bw_prober *prober, struct bw_probe_result *out) {
  const struct bw_vehicle *vehicle = &prober->own.vehicle;
  const struct bw_plant *plant = &prober->plant;
  const double radius = vehicle->tyre_radius;
  const double mass = vehicle->load[vehicle->load_state].mass;
  double total = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &prober->own.brakes.axle[i];
    const double real = bw_friction_gain(friction, plant->rotor_temperature[i]);
    const struct bw_sample_axle *axle = &prober->sample.axle[i];
    out->machine[i] = axle->machine_command;
    out->friction[i] = friction->per_pressure > 0.0
                           ? axle->friction_command * (real / friction->per_pressure)
                           : 0.0;
    total += out->machine[i] + out->friction[i];
  }
  const double deceleration = total / (radius * plant->effective_mass);
  for (int i = 0; i < 2; i++) {
    const double inertia = plant->axle_inertia[i] * deceleration / radius;
    out->force[i] = bw_max(0.0, out->machine[i] + out->friction[i] - inertia) / radius;
  }
  const double braking = out->force[0] + out->force[1];
  out->rate = braking / (mass * BW_GRAVITY);
  bw_vehicle_axle_loads(vehicle, 0.0, braking / mass, out->load);
  for (int i = 0; i < 2; i++) {
    out->used[i] = out->force[i] / out->load[i];
  }
}

enum bw_status bw_probe(struct bw_prober *prober, const struct bw_probe_setting *setting,
                        double rate, struct bw_probe_result *out, struct bw_diag *diag) {
  const double period = prober->own.control_period;
  const double full = rate * BW_GRAVITY * prober->start.effective_mass *
                      prober->own.vehicle.tyre_radius; /* N m; the tyres then carry z m g */
  const size_t most = (size_t)(BW_PROBE_PATIENCE / period);
  prober->plant = prober->start;
  memset(prober->memory, 0, prober->strategy->state_size);
  if (prober->strategy->start != NULL) {
    prober->strategy->start(prober->memory, &prober->info, prober->params);
  }
  find_limits(prober, setting);
  double before[WATCHED] = {0.0};
  size_t still = 0;
  for (size_t k = 0; k < most && still < prober->settle; k++) {
    const double time = (double)k * period;
    const double built = bw_min(1.0, (time + 0.5 * period) / BW_PROBE_BUILD);
    BW_TRY(step(prober, setting, time, full * built, diag));
    double seen[WATCHED];
    look(prober, seen);
    still = built < 1.0 || !is_still(seen, before, full) ? 0 : still + 1;
    if (still == 0) {
      memcpy(before, seen, sizeof before);
    }
  }
  conclude(prober, out);
  out->is_settled = still >= prober->settle;
  return BW_OK;
}
