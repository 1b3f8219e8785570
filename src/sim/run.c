/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/run.h"

#include "alloc.h"
#include "extrema.h"
#include "sim/driver.h"
#include "sim/plant.h"
#include "sim/rust_care.h"
#include "sim/sensor.h"

#include <math.h>
#include <string.h>

/** A run in progress. */
struct bw_session {
  const struct bw_case *loaded;
  const struct bw_blend_strategy *strategy;
  const double *params;
  struct bw_blend_info info;
  void *memory; /**< the strategy's, state_size bytes */
  struct bw_plant plant;
  struct bw_driver_state driver;
  struct bw_trace_cursor now; /**< each instant of the trace keeps its own place */
  struct bw_trace_cursor middle;
  struct bw_trace_cursor ahead;
  struct bw_trace_cursor slope;
  struct bw_limits_input conditions; /**< in which the limits hold, without what a fault takes */
  struct bw_limits limits;
  struct bw_limits told; /**< what the strategy is told while a fault is not detected */
  struct bw_blend_input input;
  struct bw_order order;
  struct bw_rust_care_state rust;
  struct bw_sense sense;
  struct bw_sample sample;
  double reference; /**< m/s at the start of the coming period */
  double brake_max; /**< N, friction at full pressure, for the driver's anti-windup */
  const struct bw_observer *observers; /**< (observer_count) */
  size_t observer_count;
  /* what holds for the whole run is asked once */
  bool is_cycle;           /**< the trace is a speed */
  bool is_slip;            /**< fidelity `slip` */
  bool has_fault;          /**< the case has one, at whatever time */
  bool has_rust_care;      /**< requests are shifted */
  bool has_machine_demand; /**< releasing the accelerator retards */
  bool is_sensed;          /**< the controller may not read what is */
  bool is_consulted;       /**< some observer wants to see the strategy's inputs */
};

/* what a wheel turns slower than the car rolls, over `speed`; the slip of a wheel that spins is
 * over its rim's speed, which makes it look slower than it is */
static double limit_slip(const struct bw_session *run, double speed, int i) {
  const struct bw_plant *plant = &run->plant;
  return plant->slip[i] < 0.0 && speed > 0.0
             ? 1.0 - bw_slip_rim(run->loaded, &plant->slip_state, i) / speed
             : plant->slip[i];
}

static void find_conditions(struct bw_session *run) {
  const struct bw_plant *plant = &run->plant;
  struct bw_limits_input *now = &run->conditions;
  now->speed = bw_plant_speed_ahead(plant);
  for (int i = 0; i < 2; i++) {
    now->slip[i] = run->is_slip ? limit_slip(run, now->speed, i) : plant->slip[i];
    now->machine_temperature[i] = plant->machine_temperature[i];
  }
}

static void find_faulty_limits(const struct bw_session *run, double level,
                               struct bw_limits *limits) {
  const struct bw_fault *fault = &run->loaded->fault;
  struct bw_limits_input input = run->conditions;
  bw_fault_charge(fault, &run->plant.fault, level, &input);
  bw_limits_find_by(run->loaded, &run->plant.rule, &input, limits);
  bw_fault_limit(fault, level, limits);
  bw_plant_hold_back(&run->plant, limits);
}

static void find_limits(struct bw_session *run, double time) {
  find_conditions(run);
  if (!run->has_fault) {
    bw_limits_find_by(run->loaded, &run->plant.rule, &run->conditions, &run->limits);
    if (run->is_slip) {
      bw_plant_hold_back(&run->plant, &run->limits);
    }
    return;
  }
  struct bw_fault_state *fault = &run->plant.fault;
  bw_fault_look(&run->loaded->fault, time, fault);
  find_faulty_limits(run, fault->level, &run->limits);
  if (fault->told < fault->level) {
    find_faulty_limits(run, fault->told, &run->told);
  }
  run->sample.fault_level = fault->level;
}

/* what driver or manoeuvre wants; true when the trace stands still over the period */
static bool find_demand(struct bw_session *run, double time, double sin_slope,
                        struct bw_driver_demand *demand) {
  const struct bw_case *loaded = run->loaded;
  struct bw_sample *sample = &run->sample;
  const double period = loaded->control_period;
  double asked = 0.0; /* in the middle of the period */
  double acceleration = 0.0;
  bw_trace_at(&loaded->trace, &run->middle, time + 0.5 * period, &asked, &acceleration);
  const double speed = run->plant.state.speed[0];
  if (!run->is_cycle) {
    const struct bw_driver_view view = {.speed = speed, .sin_slope = sin_slope, .demand = asked};
    *demand = bw_driver_manoeuvre(loaded, run->plant.effective_mass, &view);
    sample->reference_speed = (double)NAN;
    sample->reference_acceleration = (double)NAN;
    return true;
  }
  double next = 0.0;
  double unused = 0.0;
  bw_trace_at(&loaded->trace, &run->ahead, time + period, &next, &unused);
  const struct bw_driver_view view = {
      .reference_speed = run->reference,
      .reference_next = next,
      .reference_acceleration = acceleration,
      .speed = speed,
      .sin_slope = sin_slope,
      .drive_max = (run->limits.drive[0] + run->limits.drive[1]) * run->plant.fine.per_radius[0],
      .brake_max = run->brake_max,
  };
  *demand = bw_driver_follow(loaded, run->plant.effective_mass, &view, &run->driver);
  sample->reference_speed = view.reference_speed;
  sample->reference_acceleration = acceleration;
  run->reference = next;
  return view.reference_speed <= 0.0 && next <= 0.0;
}

/* split the braking demand between accelerator release (overrun) and pedal */
static void split_demand(struct bw_session *run, const struct bw_driver_demand *demand) {
  const struct bw_case *loaded = run->loaded;
  struct bw_sample *sample = &run->sample;
  const double radius = loaded->vehicle.tyre_radius;
  sample->demand = demand->brake * radius;
  sample->drive = demand->drive * radius;
  double overrun = 0.0;
  if (run->has_machine_demand) {
    overrun = radius * bw_driver_overrun(&loaded->overrun, run->plant.effective_mass,
                                         run->plant.state.speed[0]);
    if (loaded->overrun.fill == BW_OVERRUN_FILL_NONE) {
      overrun = bw_min(overrun, run->limits.joint[0] + run->limits.joint[1]);
    }
  }
  sample->demand_overrun = bw_min(overrun, sample->demand);
  sample->demand_pedal = sample->demand - sample->demand_overrun;
}

static enum bw_status consult(const struct bw_session *run, const struct bw_blend_input *input,
                              const struct bw_blend_request *request, struct bw_diag *diag) {
  for (size_t i = 0; i < run->observer_count; i++) {
    const struct bw_observer *observer = &run->observers[i];
    if (observer->consult != NULL) {
      BW_TRY(observer->consult(observer->context, input, request, diag));
    }
  }
  return BW_OK;
}

/* what the controller measures, and beside it what is; a fault's error comes on top of a reading */
static void read_sensors(struct bw_session *run, struct bw_blend_input *input) {
  const struct bw_plant *plant = &run->plant;
  struct bw_sample_truth *truth = &run->sample.truth;
  truth->speed = input->speed;
  for (int i = 0; i < 2; i++) {
    truth->slip[i] = plant->slip[i];
    truth->rim[i] = run->is_slip ? fabs(bw_slip_rim(run->loaded, &plant->slip_state, i))
                                 : input->speed * (1.0 - plant->slip[i]);
    truth->pressure[i] = plant->state.pressure[i][0];
    truth->machine[i] = plant->state.machine[i][0];
    truth->friction[i] = input->friction_estimate[i];
  }
  bw_sense_read(run->loaded, truth, &run->sense, input);
  bw_fault_sense(run->loaded, plant->fault.level, input);
}

/* what the strategy sees */
static void fill_input(struct bw_session *run, double time) {
  const struct bw_plant *plant = &run->plant;
  const bool is_told = !run->has_fault || plant->fault.told >= plant->fault.level;
  const struct bw_limits *limits = is_told ? &run->limits : &run->told;
  struct bw_blend_input *input = &run->input;
  input->time = time;
  input->speed = fabs(plant->state.speed[0]); /* wheel sensors do not tell the direction */
  input->deceleration = plant->deceleration;
  input->demand_pedal = run->sample.demand_pedal;
  input->demand_overrun = run->sample.demand_overrun;
  input->charge_power = limits->charge_power;
  input->state_of_charge = plant->battery.charge;
  bw_statics_loads(&plant->statics, 0.0, plant->deceleration, input->axle_load);
  /* 0 from the start where no machine is fitted */
  for (size_t i = plant->rule.first; i < plant->rule.end; i++) {
    input->machine_available[i] = limits->joint[i];
    input->machine_available_alone[i] = limits->alone[i];
    input->machine_available_continuous[i] = limits->continuous[i];
    input->machine_pulse_left[i] = limits->pulse_left[i];
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &run->loaded->brakes.axle[i];
    /* a fault's error may come on top of it, machine or not */
    input->machine_estimate[i] = plant->state.machine[i][0];
    input->friction_estimate[i] =
        bw_max(0.0, plant->state.pressure[i][0] - friction->threshold) * friction->per_pressure;
    input->slip[i] = plant->slip[i];
  }
}

static enum bw_status check_request(const struct bw_session *run, struct bw_diag *diag) {
  const struct bw_blend_request *request = &run->order.request;
  /* a sum is finite only if all its parts are */
  if (isfinite(request->machine[0] + request->machine[1] + request->friction[0] +
               request->friction[1])) {
    return BW_OK;
  }
  const struct bw_blend_input *input = &run->input;
  for (int i = 0; i < 2; i++) {
    if (!isfinite(request->machine[i]) || !isfinite(request->friction[i])) {
      return bw_fail(diag, BW_E_NUMERIC,
                     "strategy '%s' returned a torque that is not a number at %.3f s (%s axle, "
                     "speed %.6g m/s, demand %.6g N m); mend the strategy",
                     run->strategy->name, input->time, i == 0 ? "front" : "rear", input->speed,
                     input->demand_pedal + input->demand_overrun);
    }
  }
  return BW_OK;
}

static enum bw_status ask_strategy(struct bw_session *run, double time, struct bw_diag *diag) {
  struct bw_blend_input *input = &run->input;
  struct bw_blend_request *request = &run->order.request;
  fill_input(run, time);
  if (run->is_sensed) {
    read_sensors(run, input);
  }
  if (run->has_rust_care) {
    bw_rust_care_look(&run->loaded->rust_care, &run->info, &run->rust, input);
  }
  *request = (struct bw_blend_request){.machine = {(double)NAN, (double)NAN},
                                       .friction = {(double)NAN, (double)NAN}};
  if (run->is_consulted) {
    BW_TRY(consult(run, input, NULL, diag));
  }
  run->strategy->step(run->memory, &run->info, run->params, input, request);
  if (run->is_consulted) {
    BW_TRY(consult(run, input, request, diag));
  }
  BW_TRY(check_request(run, diag));
  if (run->has_rust_care) {
    bw_rust_care_apply(&run->loaded->rust_care, &run->info, input, &run->rust, request);
  }
  return BW_OK;
}

/* driving torque: wanted front share first, what one machine cannot give goes to the other */
static void split_drive(const struct bw_session *run, double order[2]) {
  const double total = run->sample.drive;
  const double *most = run->limits.drive;
  const double share = run->loaded->driver.drive_front_share;
  order[0] = bw_min(total * share, most[0]);
  order[1] = bw_min(total - order[0], most[1]);
  order[0] = bw_min(total - order[1], most[0]);
}

static enum bw_status advance(struct bw_session *run, double time, struct bw_diag *diag) {
  struct bw_sample *sample = &run->sample;
  sample->time = time;
  find_limits(run, time);
  const double way =
      run->plant.distance + 0.5 * run->loaded->control_period * run->plant.state.speed[0];
  const double sin_slope = bw_trace_grade(&run->loaded->trace, &run->slope, way);
  struct bw_driver_demand demand;
  const bool may_park = find_demand(run, time, sin_slope, &demand);
  split_demand(run, &demand);
  run->order.demand = sample->demand;
  run->order.demand_pedal = sample->demand_pedal;
  BW_TRY(ask_strategy(run, time, diag));
  split_drive(run, run->order.drive);
  return bw_plant_advance(&run->plant, &run->limits, &run->order, sin_slope, may_park, sample,
                          diag);
}

static enum bw_status show(const struct bw_session *run, struct bw_diag *diag) {
  for (size_t i = 0; i < run->observer_count; i++) {
    BW_TRY(run->observers[i].watch(run->observers[i].context, &run->sample, diag));
  }
  return BW_OK;
}

static void decide_once(struct bw_session *run) {
  const struct bw_case *loaded = run->loaded;
  const struct bw_sensors *sensors = &loaded->sensors;
  run->is_cycle = loaded->trace.kind == BW_TRACE_SPEED;
  run->is_slip = loaded->fidelity == BW_FIDELITY_SLIP;
  run->has_fault = loaded->fault.kind != BW_FAULT_NONE;
  run->has_rust_care = bw_rust_care_is_on(&loaded->rust_care);
  run->has_machine_demand = run->is_cycle && (run->strategy->flags & BW_BLEND_WITHOUT_MACHINE) == 0;
  run->is_sensed = run->sample.is_sensed = bw_sensor_acts(&sensors->speed) ||
                                           bw_sensor_acts(&sensors->pressure) ||
                                           bw_sensor_acts(&sensors->torque) || run->has_fault;
  for (size_t i = 0; i < run->observer_count; i++) {
    run->is_consulted = run->is_consulted || run->observers[i].consult != NULL;
  }
}

static enum bw_status start(struct bw_session *run, struct bw_diag *diag) {
  const struct bw_case *loaded = run->loaded;
  double unused = 0.0;
  decide_once(run);
  run->reference = loaded->driver.initial_speed;
  if (run->is_cycle) {
    bw_trace_at(&loaded->trace, &run->now, 0.0, &run->reference, &unused);
  }
  BW_TRY(bw_plant_start(loaded, run->reference, &run->plant, diag));
  bw_slip_take_policy(&run->plant.slip_state, run->strategy->flags);
  run->plant.delivered = (double(*)[BW_LANES])run->sample.delivered;
  run->conditions.battery = &run->plant.battery;
  run->brake_max =
      (run->plant.friction_most[0] + run->plant.friction_most[1]) / loaded->vehicle.tyre_radius;
  run->sample.duration = loaded->control_period;
  run->sample.substep = loaded->step;
  bw_case_blend_info(loaded, &run->info);
  if (run->strategy->start != NULL) {
    run->strategy->start(run->memory, &run->info, run->params);
  }
  return BW_OK;
}

static enum bw_status drive(struct bw_session *run, struct bw_diag *diag) {
  BW_TRY(start(run, diag));
  const double period = run->loaded->control_period;
  /* a table that ends inside a period is driven to the period's end */
  const size_t periods = (size_t)ceil(bw_trace_duration(&run->loaded->trace) / period - 1e-9);
  for (size_t k = 0; k < periods; k++) {
    BW_TRY(advance(run, (double)k * period, diag));
    BW_TRY(show(run, diag));
    if (!run->is_cycle && run->plant.state.speed[0] <= 0.0 &&
        !run->loaded->driver.goes_on_at_rest) {
      break;
    }
  }
  if (run->has_fault && !run->plant.fault.has_started) {
    return bw_fail(diag, BW_E_USAGE,
                   "fault.start_s of %.6g s lies after the end of the run at %.6g s; start the "
                   "fault earlier",
                   run->loaded->fault.start, run->sample.time + run->sample.duration);
  }
  return BW_OK;
}

enum bw_status bw_run(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                      const double *params, const struct bw_observer *observers,
                      size_t observer_count, struct bw_diag *diag) {
  if (strategy->abi != BW_BLEND_ABI) {
    return bw_fail(diag, BW_E_USAGE,
                   "strategy '%s' speaks contract version %u, this program %u; build it against "
                   "this program's blend.h",
                   strategy->name, (unsigned)strategy->abi, (unsigned)BW_BLEND_ABI);
  }
  struct bw_session *run = bw_alloc(1, sizeof *run);
  void *memory = bw_alloc(1, strategy->state_size);
  enum bw_status status = BW_E_MEMORY;
  if (run == NULL || memory == NULL) {
    status = bw_fail(diag, BW_E_MEMORY, "no memory for a run; close other programs");
  } else {
    run->loaded = loaded;
    run->strategy = strategy;
    run->params = params;
    run->memory = memory;
    run->observers = observers;
    run->observer_count = observer_count;
    status = drive(run, diag);
  }
  bw_free(memory);
  bw_free(run);
  return status;
}
