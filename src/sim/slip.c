/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/slip.h"

#include "sim/hot_stages.h"
#include "sim/slip_step.h"

#include <math.h>
#include <string.h>

/* no promise about what binds or changes */
static const struct bw_hot_kind ANY_STEP = {.is_calm = false, .is_mixed = true};

/* m/s; locking below is allowed (15 km/h), and slip below says nothing about grip */
static const double LOCK_SPEED = 15.0 / 3.6;
/* slip that counts as locked: a machine never quite stops its wheel */
static const double LOCK_SLIP = 0.9;

void bw_slip_start(const struct bw_case *loaded, double speed, struct bw_slip *slip) {
  const struct bw_slip_setup *setup = &loaded->slip;
  *slip = (struct bw_slip){.speed = speed, .is_held = !(speed > 0.0)};
  const double omega = speed / loaded->vehicle.tyre_radius;
  for (int i = 0; i < 2; i++) {
    struct bw_slip_axle *axle = &slip->axle[i];
    const struct bw_machine *machine = &loaded->machine[i];
    const double rotor =
        machine->is_fitted ? machine->inertia * machine->ratio * machine->ratio : 0.0;
    axle->sides = bw_surface_is_split(&setup->surface) ? 2 : 1;
    axle->is_compliant = machine->is_fitted && setup->driveline[i].stiffness > 0.0 && rotor > 0.0;
    const double whole = loaded->vehicle.wheel_inertia[i] + (axle->is_compliant ? 0.0 : rotor);
    axle->inertia = whole / (double)axle->sides;
    axle->machine_inertia = axle->is_compliant ? rotor : 0.0;
    axle->machine_omega = omega;
    axle->shaft_gain = 1.0;
    axle->held_back.cap = (double)INFINITY;
    axle->held_back.policy = setup->antilock.policy;
    for (size_t j = 0; j < axle->sides; j++) {
      axle->wheel[j].omega = omega;
    }
  }
}

void bw_slip_take_policy(struct bw_slip *slip, uint32_t flags) {
  static const struct {
    uint32_t flag;
    enum bw_regeneration_policy policy;
  } choices[] = {{BW_BLEND_ANTILOCK_KEEP, BW_REGENERATION_KEEP},
                 {BW_BLEND_ANTILOCK_CUT, BW_REGENERATION_CUT},
                 {BW_BLEND_ANTILOCK_RAMP_OUT, BW_REGENERATION_RAMP_OUT},
                 {BW_BLEND_ANTILOCK_FREEZE, BW_REGENERATION_FREEZE},
                 {BW_BLEND_ANTILOCK_MODULATE, BW_REGENERATION_MODULATE}};
  for (size_t k = 0; k < sizeof choices / sizeof *choices; k++) {
    if ((flags & choices[k].flag) != 0) {
      slip->axle[0].held_back.policy = slip->axle[1].held_back.policy = choices[k].policy;
    }
  }
}

double bw_slip_energy(const struct bw_case *loaded, const struct bw_slip *slip) {
  const double mass = loaded->vehicle.load[loaded->vehicle.load_state].mass;
  double energy = 0.5 * mass * slip->speed * slip->speed;
  for (int i = 0; i < 2; i++) {
    const struct bw_slip_axle *axle = &slip->axle[i];
    for (size_t j = 0; j < axle->sides; j++) {
      energy += 0.5 * axle->inertia * axle->wheel[j].omega * axle->wheel[j].omega;
    }
    if (axle->is_compliant) {
      energy += 0.5 * axle->machine_inertia * axle->machine_omega * axle->machine_omega +
                bw_driveline_stored(&loaded->slip.driveline[i], axle->twist);
    }
  }
  return energy;
}

/* braking slip as a sensor pair would show it */
static double slip_of(const struct bw_case *loaded, double speed, double rim) {
  const double size = fmax(fmax(fabs(speed), fabs(rim)), loaded->slip.tyre.low_speed);
  return (speed - rim) / size;
}

static double shown_slip(const struct bw_case *loaded, const struct bw_slip *slip, int i,
                         size_t j) {
  const double rim = loaded->vehicle.tyre_radius * slip->axle[i].wheel[j].omega;
  return slip_of(loaded, slip->speed, rim);
}

double bw_slip_rim(const struct bw_case *loaded, const struct bw_slip *slip, int i) {
  const struct bw_slip_axle *axle = &slip->axle[i];
  const double omega =
      axle->sides > 1 ? 0.5 * (axle->wheel[0].omega + axle->wheel[1].omega) : axle->wheel[0].omega;
  return loaded->vehicle.tyre_radius * omega;
}

static void decide_axle(const struct bw_case *loaded, struct bw_slip *slip, int i,
                        const struct bw_hot_state *state, const struct bw_wheel_view *view) {
  const struct bw_antilock *setup = &loaded->slip.antilock;
  struct bw_slip_axle *axle = &slip->axle[i];
  const bool is_braked =
      state->pressure[i][0] > loaded->brakes.axle[i].threshold || state->machine[i][0] > 0.0;
  double shown[2] = {slip_of(loaded, view->speed, view->rim[i][0]),
                     slip_of(loaded, view->speed, view->rim[i][1])};
  if (axle->sides == 1) {
    /* two sensors on wheels that turn alike */
    shown[0] = 0.5 * (shown[0] + shown[1]);
  } else if (!setup->is_per_wheel) {
    shown[0] = shown[1] = fmax(shown[0], shown[1]);
  }
  for (size_t j = 0; j < axle->sides; j++) {
    const struct bw_antilock_view channel = {.slip = shown[j],
                                             .speed = fabs(view->speed),
                                             .filter = view->filter,
                                             .is_braked = is_braked};
    bw_antilock_decide(setup, &axle->channel[j], &channel);
  }
}

/* one decision of the antilock controller, from speeds as it knows them */
static void decide(const struct bw_case *loaded, struct bw_slip *slip, double sin_slope,
                   const struct bw_hot_state *state) {
  struct bw_wheel_view view = {.speed = slip->speed,
                               .deceleration = slip->body_deceleration - BW_GRAVITY * sin_slope};
  for (int i = 0; i < 2; i++) {
    const struct bw_slip_axle *axle = &slip->axle[i];
    for (size_t j = 0; j < 2; j++) {
      const double omega = axle->wheel[j < axle->sides ? j : 0].omega;
      view.rim[i][j] = loaded->vehicle.tyre_radius * omega;
    }
  }
  if (bw_wheel_sense_acts(loaded)) {
    bw_wheel_sense_read(loaded, &slip->sense, &view);
  }
  decide_axle(loaded, slip, BW_FRONT, state, &view);
  decide_axle(loaded, slip, BW_REAR, state, &view);
}

/* valves and machine caps over one sub-step; `floor` (Pa): what a stuck brake keeps */
static void run_antilock(const struct bw_case *loaded, struct bw_slip *slip, int i,
                         const struct bw_hot_state *state, double floor, double step) {
  const struct bw_antilock *setup = &loaded->slip.antilock;
  struct bw_slip_axle *axle = &slip->axle[i];
  bool is_active = false;
  enum bw_antilock_valve worst = BW_ANTILOCK_OPEN;
  for (size_t j = 0; j < axle->sides; j++) {
    struct bw_antilock_channel *channel = &axle->channel[j];
    is_active = is_active || channel->is_active;
    worst = channel->valve > worst ? channel->valve : worst;
  }
  bw_antilock_hold_back(setup, &axle->held_back, is_active, worst, state->machine[i][0], step);
  for (size_t j = 0; j < axle->sides; j++) {
    const double let = bw_antilock_pressure(setup, &axle->channel[j], axle->pressure[j],
                                            state->pressure[i][0], step);
    axle->pressure[j] = fmax(let, floor);
  }
  slip->sums.antilock += is_active && i == 0 ? step : 0.0;
  if (is_active && i == 1) {
    const struct bw_slip_axle *front = &slip->axle[0];
    const bool is_counted = front->channel[0].is_active || front->channel[1].is_active;
    slip->sums.antilock += is_counted ? 0.0 : step;
  }
}

/* The machine's own low-speed limit, at the speed of its wheels: the limits of the period know the
 * road speed only, and a wheel that slows under regeneration would be turned backward. */
static double low_speed_share(const struct bw_case *loaded, const struct bw_slip_axle *axle,
                              int i) {
  const struct bw_machine *machine = &loaded->machine[i];
  const double wheels =
      axle->sides > 1 ? 0.5 * (axle->wheel[0].omega + axle->wheel[1].omega) : axle->wheel[0].omega;
  const double rim =
      loaded->vehicle.tyre_radius * (axle->is_compliant ? axle->machine_omega : wheels);
  const double share =
      (fabs(rim) - machine->low_speed_zero) / (machine->low_speed_full - machine->low_speed_zero);
  return fmin(1.0, fmax(0.0, share));
}

/* Calipers between the pressure that lag and rates give and the pads: flow and hysteresis. Returns
 * the mean pressure that the pads feel over the sub-step. Behind a valve at work they feel the
 * valve's pressure at once. */
static double run_calipers(const struct bw_hydraulics *hydraulics, double before, double step,
                           double *pressure, double *felt) {
  const double felt_before = *felt;
  *pressure = bw_hydraulics_follow(hydraulics, before, *pressure, step);
  *felt = bw_hydraulics_felt(hydraulics, felt_before, *pressure);
  return 0.5 * (felt_before + *felt);
}

/* one sub-step of the actuators */
struct substep {
  const struct bw_case *loaded;
  const struct bw_hot_coefficients *fine;
  const struct bw_hot_period *period;
  struct bw_hot_state *state;
  size_t k;
};

/* friction of axle `i` over one sub-step, before any valve: mean torque, N m */
static double run_friction(const struct substep *now, struct bw_slip_axle *axle, size_t i) {
  const struct bw_hydraulics *hydraulics = &now->loaded->slip.hydraulics[i];
  const struct bw_hot_coefficients *fine = now->fine;
  const struct bw_hot_period *period = now->period;
  struct bw_hot_state *state = now->state;
  struct bw_hot_torques mean = {0};
  const double before = state->pressure[i][0];
  hot_friction(fine, period, state, &mean, i, now->k, ANY_STEP);
  if (!(hydraulics->flow > 0.0) && !(hydraulics->hysteresis > 0.0)) {
    return mean.friction[i][0];
  }
  const double felt =
      run_calipers(hydraulics, before, fine->dt, &state->pressure[i][0], &axle->felt);
  return fmax(0.0, felt - fine->threshold[i][0]) * period->friction_gain[i][0];
}

/* actuators over one sub-step: what the machines give and what the brakes can */
static void run_actuators(const struct substep *now, struct bw_slip *slip,
                          struct bw_slip_torques *torques) {
  const struct bw_case *loaded = now->loaded;
  const struct bw_hot_coefficients *fine = now->fine;
  const struct bw_hot_period *period = now->period;
  struct bw_hot_state *state = now->state;
  struct bw_hot_torques mean = {0};
  for (size_t i = 0; i < 2; i++) {
    struct bw_slip_axle *axle = &slip->axle[i];
    if (loaded->machine[i].is_fitted) {
      struct bw_hot_period capped = *period;
      const double command =
          period->machine_old[i][0] + period->machine_step[i][0] * fine->machine_new[i][now->k][0];
      capped.machine_old[i][0] = fmin(command, axle->held_back.cap);
      capped.machine_step[i][0] = 0.0;
      hot_machine(fine, &capped, state, &mean, i, now->k, ANY_STEP);
      if (mean.machine[i][0] > 0.0 && !(period->machine_min[i][0] > 0.0)) {
        const double most = low_speed_share(loaded, axle, (int)i) *
                            loaded->machine[i].shaft_torque_peak * loaded->machine[i].ratio /
                            loaded->machine[i].efficiency;
        mean.machine[i][0] = fmin(mean.machine[i][0], most);
        state->machine[i][0] = fmin(state->machine[i][0], most);
      }
    }
    const double friction = run_friction(now, axle, i);
    torques->machine[i] = mean.machine[i][0];
    const double share = 1.0 / (double)axle->sides;
    for (size_t j = 0; j < axle->sides; j++) {
      torques->capacity[i][j] = share * friction;
    }
    if (!loaded->slip.antilock.is_fitted) {
      continue;
    }
    run_antilock(loaded, slip, (int)i, state, period->friction_floor[i][0], fine->dt);
    for (size_t j = 0; j < axle->sides; j++) {
      if (axle->channel[j].is_active) {
        torques->capacity[i][j] = share * fmax(0.0, axle->pressure[j] - fine->threshold[i][0]) *
                                  period->friction_gain[i][0];
      }
    }
  }
  if (loaded->slip.park_torque > 0.0 && slip->is_held &&
      slip->rest_time >= loaded->slip.park_after) {
    const struct bw_slip_axle *rear = &slip->axle[BW_REAR];
    for (size_t j = 0; j < rear->sides; j++) {
      torques->capacity[BW_REAR][j] += loaded->slip.park_torque / (double)rear->sides;
    }
  }
}

static void find_grip(const struct bw_case *loaded, struct bw_slip *slip,
                      struct bw_slip_torques *torques) {
  const struct bw_surface *surface = &loaded->slip.surface;
  for (int j = 0; j < 2; j++) {
    const double adhesion = surface->n > 0
                                ? bw_surface_at(surface, j, slip->distance, &slip->hint[j])
                                : loaded->vehicle.adhesion;
    torques->grip[j] = adhesion / loaded->slip.tyre.peak;
  }
}

/* Loads of the coming sub-step. The pitch lag takes the mean deceleration of the past sub-step, and
 * the loads are those expected in the middle of the coming one; without a lag nothing is carried
 * on, because deceleration may jump. */
static void find_loads(const struct bw_case *loaded, double sin_slope, double step,
                       struct bw_slip *slip) {
  const double lag = loaded->slip.pitch_lag;
  const double before = slip->transfer;
  const double gain = lag > 0.0 ? -expm1(-step / lag) : 1.0;
  slip->transfer += gain * (slip->body_deceleration - slip->transfer);
  const double ahead = lag > 0.0 ? 0.5 * (slip->transfer - before) : 0.0;
  bw_vehicle_axle_loads(&loaded->vehicle, sin_slope, slip->transfer + ahead, slip->load);
  for (int i = 0; i < 2; i++) {
    slip->load[i] = fmax(0.0, slip->load[i]);
  }
}

/* what the period's sample wants to know at the end of a sub-step */
static void look(const struct bw_case *loaded, struct bw_slip *slip, double step) {
  bool is_locked = false;
  const bool is_fast = fabs(slip->speed) > LOCK_SPEED;
  for (int i = 0; i < 2; i++) {
    const struct bw_slip_axle *axle = &slip->axle[i];
    double slipping = 0.0;
    for (size_t j = 0; j < axle->sides; j++) {
      const double shown = slip->is_held ? 0.0 : shown_slip(loaded, slip, i, j);
      slipping += shown / (double)axle->sides;
      is_locked = is_locked || (is_fast && shown > LOCK_SLIP);
      slip->sums.slip_peak[i] =
          is_fast ? fmax(slip->sums.slip_peak[i], fabs(shown)) : slip->sums.slip_peak[i];
    }
    slip->sums.slip[i] += slipping;
    slip->sums.shaft[i] = fmax(slip->sums.shaft[i], fabs(axle->shaft_torque));
  }
  slip->sums.locked += is_locked ? step : 0.0;
}

/* sums of the period in the form of the rolling plant's */
static void close_sums(const struct bw_slip_works *works, const struct bw_hot_coefficients *fine,
                       struct bw_slip *slip, struct bw_hot_sums *sums) {
  const double duration = fine->dt * (double)fine->substeps;
  sums->distance[0] = works->distance;
  sums->road[0] = works->road;
  for (int i = 0; i < 2; i++) {
    sums->machine_brake[i][0] = works->machine_brake[i];
    sums->machine_drive[i][0] = works->machine_drive[i];
    sums->friction[i][0] = works->friction[i];
    sums->tyre[i][0] = works->tyre[i];
    slip->sums.force[i] = works->force[i] / duration;
    slip->sums.omega[i] = works->angle[i] / duration;
    slip->sums.shaft_loss[i] = works->shaft[i];
    slip->sums.slip[i] /= (double)fine->substeps;
  }
}

/* NOLINTNEXTLINE(readability-function-size): the arguments of bw_hot_run(), with case and wheels */
void bw_slip_run(const struct bw_case *loaded, const struct bw_hot_coefficients *fine,
                 const struct bw_hot_period *period, struct bw_hot_state *state,
                 struct bw_slip *slip, struct bw_hot_sums *sums, double (*delivered)[BW_LANES],
                 double *deceleration) {
  const double mass = loaded->vehicle.load[loaded->vehicle.load_state].mass;
  const double sin_slope = period->slope_force[0] / (mass * BW_GRAVITY);
  const size_t inner = (size_t)lround(fine->dt / loaded->slip.step);
  const double step = fine->dt / (double)inner;
  const size_t decision = (size_t)lround(loaded->slip.antilock.period / fine->dt);
  struct bw_slip_works works = {0};
  *sums = (struct bw_hot_sums){0};
  memset(&slip->sums, 0, sizeof slip->sums);
  for (size_t k = 0; k < fine->substeps; k++) {
    struct bw_slip_torques torques = {.slope_force = period->slope_force[0]};
    find_loads(loaded, sin_slope, fine->dt, slip);
    find_grip(loaded, slip, &torques);
    if (loaded->slip.antilock.is_fitted && slip->decisions++ % decision == 0) {
      decide(loaded, slip, sin_slope, state);
    }
    const struct substep now = {loaded, fine, period, state, k};
    run_actuators(&now, slip, &torques);
    const double speed = slip->speed;
    const double way = works.distance;
    double friction[2] = {works.friction_torque[0], works.friction_torque[1]};
    for (size_t n = 0; n < inner; n++) {
      bw_slip_step(loaded, &torques, step, slip, &works);
    }
    slip->distance += works.distance - way;
    deceleration[k] = (speed - slip->speed) / fine->dt;
    slip->body_deceleration = slip->is_held ? 0.0 : deceleration[k];
    delivered[k][0] = 0.0;
    for (int i = 0; i < 2; i++) {
      friction[i] = slip->is_held ? torques.capacity[i][0] + torques.capacity[i][1]
                                  : (works.friction_torque[i] - friction[i]) / fine->dt;
      const double shaft =
          torques.machine[i] *
          (torques.machine[i] > 0.0 ? fine->to_shaft_brake[i][0] : fine->to_shaft_drive[i][0]);
      sums->shaft_square[i][0] += shaft * shaft;
      sums->machine_torque[i][0] += torques.machine[i];
      sums->friction_torque[i][0] += friction[i];
      delivered[k][0] += torques.machine[i] + friction[i];
    }
    look(loaded, slip, fine->dt);
  }
  close_sums(&works, fine, slip, sums);
}
