/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_plain.h"

#include "alloc.h"
#include "sim/driver.h"
#include "sim/limits.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include <math.h>

enum {
  SPEED,
  WAY,
  MACHINE,      /* two: N m at the axle */
  PRESSURE = 4, /* two: Pa */
  WINDING = 6,  /* two: K */
  ROTOR = 8,    /* two: K */
  CHARGE = 10,  /* A s put in */
  RC_VOLTAGE,
  MACHINE_WORK,
  FRICTION_WORK,
  TERMINALS,
  STATES
};

struct plain {
  const struct bw_case *loaded;
  const struct bw_blend_strategy *strategy;
  const double *params;
  void *memory;
  struct bw_blend_info info;
  struct bw_driver_state driver;
  struct bw_trace_cursor now;
  struct bw_trace_cursor middle;
  double mass;
  size_t tick;
  double *machine_command[2];  /* (ticks) N m */
  double *pressure_command[2]; /* (ticks) Pa */
};

/* command of `list` that acts `dead_time` later at `time` */
static double delayed(const struct plain *plain, const double *list, double time,
                      double dead_time) {
  const double index = floor((time - dead_time) / plain->loaded->control_period + 1e-6);
  if (index < 0.0) {
    return 0.0;
  }
  const size_t at = (size_t)index;
  return list[at < plain->tick ? at : plain->tick];
}

/* electrical power of one machine, W into the DC link; its heat goes to *loss */
static double dc_power(const struct bw_machine *machine, double omega, double axle, double *loss) {
  const double shaft = axle > 0.0 ? axle * machine->efficiency / machine->ratio
                                  : axle / (machine->efficiency * machine->ratio);
  *loss = bw_machine_loss(machine, omega, fabs(shaft), fabs(shaft) > 0.0);
  return shaft * omega - *loss;
}

static void battery_equations(const struct plain *plain, double dc, const double y[],
                              double dydt[]) {
  const struct bw_battery *battery = &plain->loaded->battery;
  const double charge = battery->start_charge + y[CHARGE] / battery->capacity;
  const double power = dc - battery->auxiliaries;
  const double resistance = bw_table2_at(&battery->resistance, battery->temperature, charge);
  const double source = bw_table1_at(&battery->ocv, charge) + y[RC_VOLTAGE];
  const double current = 2.0 * power / (source + sqrt(source * source + 4.0 * resistance * power));
  dydt[CHARGE] = current;
  dydt[RC_VOLTAGE] = (battery->rc_resistance * current - y[RC_VOLTAGE]) / battery->rc_time;
  dydt[TERMINALS] = power;
}

/* torques, heat and their derivatives of axle i; returns the retarding torque, N m */
static double axle_equations(const struct plain *plain, int i, double time, const double y[],
                             double dydt[], double *dc) {
  const struct bw_case *loaded = plain->loaded;
  const struct bw_machine *machine = &loaded->machine[i];
  const struct bw_friction *friction = &loaded->brakes.axle[i];
  const double turn = y[SPEED] / loaded->vehicle.tyre_radius;
  double torque = 0.0;
  dydt[MACHINE + i] = dydt[WINDING + i] = 0.0;
  if (machine->is_fitted) {
    const double slew = machine->shaft_slew * machine->ratio;
    const double command = delayed(plain, plain->machine_command[i], time, machine->dead_time);
    const double rate = (command - y[MACHINE + i]) / machine->lag;
    double loss = 0.0;
    torque = y[MACHINE + i];
    dydt[MACHINE + i] = fmax(-slew, fmin(slew, rate));
    *dc += dc_power(machine, turn * machine->ratio, torque, &loss);
    dydt[WINDING + i] =
        (loss - machine->cooling * (y[WINDING + i] - machine->coolant_temperature)) /
        machine->heat_capacity;
    dydt[MACHINE_WORK] += fmax(0.0, torque) * turn;
  }
  const double command = delayed(plain, plain->pressure_command[i], time, friction->dead_time);
  const double rate = (command - y[PRESSURE + i]) / friction->lag;
  dydt[PRESSURE + i] = fmax(-friction->release, fmin(friction->build, rate));
  const double rubbing =
      fmax(0.0, y[PRESSURE + i] - friction->threshold) * bw_friction_gain(friction, y[ROTOR + i]);
  const double cooling = friction->cooling + friction->cooling_speed * y[SPEED];
  const double radiated = 5.670374419e-8 * friction->radiating_area *
                          (pow(y[ROTOR + i], 4.0) - pow(loaded->ambient_temperature, 4.0));
  dydt[ROTOR + i] = (friction->heat_share * rubbing * turn -
                     cooling * (y[ROTOR + i] - loaded->ambient_temperature) - radiated) /
                    friction->heat_capacity;
  dydt[FRICTION_WORK] += rubbing * turn;
  return torque + rubbing;
}

static int equations(double time, const double y[], double dydt[], void *context) {
  const struct plain *plain = context;
  const struct bw_vehicle *vehicle = &plain->loaded->vehicle;
  double dc = 0.0;
  dydt[MACHINE_WORK] = dydt[FRICTION_WORK] = 0.0;
  const double torque =
      axle_equations(plain, 0, time, y, dydt, &dc) + axle_equations(plain, 1, time, y, dydt, &dc);
  const double force = torque / vehicle->tyre_radius + bw_vehicle_road_load(vehicle, y[SPEED]);
  const bool is_held = y[SPEED] <= 0.0 && force >= 0.0;
  dydt[SPEED] = is_held ? 0.0 : -force / plain->mass;
  dydt[WAY] = y[SPEED];
  battery_equations(plain, dc, y, dydt);
  return GSL_SUCCESS;
}

static void find_limits(const struct plain *plain, const double y[], struct bw_limits *limits) {
  const struct bw_battery *battery = &plain->loaded->battery;
  struct bw_battery_state state = bw_battery_start(battery);
  state.charge = battery->start_charge + y[CHARGE] / battery->capacity;
  state.rc_voltage = y[RC_VOLTAGE];
  const struct bw_limits_input input = {
      .speed = y[SPEED], .machine_temperature = {y[WINDING], y[WINDING + 1]}, .battery = &state};
  bw_limits_find(plain->loaded, &input, limits);
}

static void control(struct plain *plain, double time, const double y[]) {
  const struct bw_case *loaded = plain->loaded;
  const double radius = loaded->vehicle.tyre_radius;
  struct bw_limits limits;
  find_limits(plain, y, &limits);
  struct bw_driver_view view = {.speed = y[SPEED],
                                .drive_max = (limits.drive[0] + limits.drive[1]) / radius,
                                .brake_max = 1e9};
  double unused = 0.0;
  bw_trace_at(&loaded->trace, &plain->now, time, &view.reference_speed, &unused);
  bw_trace_at(&loaded->trace, &plain->middle, time + loaded->control_period, &view.reference_next,
              &unused);
  view.reference_acceleration =
      (view.reference_next - view.reference_speed) / loaded->control_period;
  const struct bw_driver_demand demand =
      bw_driver_follow(loaded, plain->mass, &view, &plain->driver);
  struct bw_blend_input input = {.time = time,
                                 .speed = y[SPEED],
                                 .demand_pedal = demand.brake * radius,
                                 .charge_power = limits.charge_power};
  for (int i = 0; i < 2; i++) {
    input.machine_available[i] = limits.joint[i];
    input.machine_available_alone[i] = limits.alone[i];
    input.machine_available_continuous[i] = limits.continuous[i];
    input.machine_pulse_left[i] = limits.pulse_left[i];
  }
  struct bw_blend_request request = {0};
  plain->strategy->step(plain->memory, &plain->info, plain->params, &input, &request);
  const double share[2] = {loaded->driver.drive_front_share,
                           1.0 - loaded->driver.drive_front_share};
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    plain->machine_command[i][plain->tick] =
        fmin(request.machine[i], limits.joint[i]) -
        fmin(demand.drive * radius * share[i], limits.drive[i]);
    const bool is_ready =
        request.friction[i] > 0.0 || (loaded->brakes.is_prefilled && input.demand_pedal > 0.0);
    plain->pressure_command[i][plain->tick] =
        is_ready ? friction->threshold + request.friction[i] / friction->per_pressure : 0.0;
  }
}

static bool integrate(struct plain *plain, gsl_odeiv2_step *step, struct bench_plain *out) {
  const struct bw_case *loaded = plain->loaded;
  const gsl_odeiv2_system system = {.function = equations, .dimension = STATES, .params = plain};
  double y[STATES] = {0.0};
  double error[STATES];
  for (int i = 0; i < 2; i++) {
    y[WINDING + i] = loaded->machine[i].start_temperature;
    y[ROTOR + i] = loaded->brakes.axle[i].start_temperature;
  }
  const size_t substeps = (size_t)lround(loaded->control_period / loaded->step);
  const size_t ticks = (size_t)(bw_trace_duration(&loaded->trace) / loaded->control_period + 0.5);
  for (size_t k = 0; k < ticks; k++) {
    plain->tick = k;
    control(plain, (double)k * loaded->control_period, y);
    for (size_t j = 0; j < substeps; j++) {
      const double time = (double)k * loaded->control_period + (double)j * loaded->step;
      if (gsl_odeiv2_step_apply(step, time, loaded->step, y, error, NULL, NULL, &system) !=
          GSL_SUCCESS) {
        return false;
      }
      y[SPEED] = fmax(0.0, y[SPEED]);
    }
  }
  *out = (struct bench_plain){.distance = y[WAY],
                              .machine_work = y[MACHINE_WORK],
                              .friction_work = y[FRICTION_WORK],
                              .terminals = y[TERMINALS]};
  return true;
}

bool bench_plain_run(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                     const double *params, struct bench_plain *out) {
  struct plain plain = {.loaded = loaded, .strategy = strategy, .params = params};
  const size_t ticks =
      (size_t)(bw_trace_duration(&loaded->trace) / loaded->control_period + 0.5) + 1;
  plain.mass = bw_case_effective_mass(loaded);
  plain.memory = bw_alloc(1, strategy->state_size);
  gsl_odeiv2_step *step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rkf45, STATES);
  bool is_good = plain.memory != NULL && step != NULL;
  for (int i = 0; i < 2; i++) {
    plain.machine_command[i] = bw_alloc(ticks, sizeof(double));
    plain.pressure_command[i] = bw_alloc(ticks, sizeof(double));
    is_good = is_good && plain.machine_command[i] != NULL && plain.pressure_command[i] != NULL;
  }
  if (is_good) {
    bw_case_blend_info(loaded, &plain.info);
    if (strategy->start != NULL) {
      strategy->start(plain.memory, &plain.info, params);
    }
    is_good = integrate(&plain, step, out);
  }
  for (int i = 0; i < 2; i++) {
    bw_free(plain.machine_command[i]);
    bw_free(plain.pressure_command[i]);
  }
  if (step != NULL) {
    gsl_odeiv2_step_free(step);
  }
  bw_free(plain.memory);
  return is_good;
}
