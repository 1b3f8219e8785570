/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/fault.h"

#include "extrema.h"

#include <math.h>

/* s; a period that begins this little before the start belongs to the fault */
static const double TICK = 1e-9;

/* in the control period that begins at `time`, s */
static double level_at(const struct bw_fault *fault, double time) {
  const double since = time - fault->start + TICK;
  if (fault->kind == BW_FAULT_NONE || since < 0.0) {
    return 0.0;
  }
  const double after = since - fault->duration;
  if (after < 2.0 * TICK) {
    return after < 0.0 || fault->recovery > 0.0 ? 1.0 : 0.0;
  }
  return after < fault->recovery ? 1.0 - after / fault->recovery : 0.0;
}

double bw_fault_drag(const struct bw_fault *fault, double speed) {
  if (!(speed > 0.0)) {
    return 0.0;
  }
  const double x = speed / fault->peak_speed;
  return fault->shorted_torque * 2.0 * x / (1.0 + x * x);
}

void bw_fault_look(const struct bw_fault *fault, double time, struct bw_fault_state *state) {
  if (fault->kind == BW_FAULT_NONE) {
    return;
  }
  state->level = level_at(fault, time);
  state->has_started = state->has_started || state->level > 0.0;
  state->told = time - fault->start + TICK >= fault->detection ? state->level : 0.0;
  state->voltage_rise = 0.0;
  if (fault->kind == BW_FAULT_CONTACTOR_OPEN && fault->lead > 0.0 && !state->has_started) {
    const double risen = 1.0 - (fault->start - time) / fault->lead;
    state->voltage_rise = fault->voltage * bw_max(0.0, risen);
  }
}

void bw_fault_charge(const struct bw_fault *fault, const struct bw_fault_state *state, double level,
                     struct bw_limits_input *input) {
  input->voltage_rise = state->voltage_rise;
  input->charge_lost = fault->kind == BW_FAULT_CHARGE_LIMIT ? fault->charge_share * level : 0.0;
}

void bw_fault_limit(const struct bw_fault *fault, double level, struct bw_limits *limits) {
  const bool is_cut = fault->kind == BW_FAULT_CONTACTOR_OPEN;
  const bool is_machine =
      fault->kind == BW_FAULT_MACHINE_TRIP || fault->kind == BW_FAULT_SHORTED || is_cut;
  if (!is_machine || level <= 0.0) {
    return;
  }
  const double left = 1.0 - level;
  for (int i = 0; i < 2; i++) {
    if (is_cut || bw_fault_hits(fault, i)) {
      limits->envelope[i] *= left;
      limits->alone[i] *= left;
      limits->joint[i] *= left;
      limits->continuous[i] *= left;
      limits->drive[i] *= left;
    }
  }
  limits->charge_power *= is_cut ? left : 1.0;
}

double bw_fault_message(const struct bw_case *loaded, struct bw_fault_state *state, int axle,
                        double command, size_t newest) {
  const struct bw_fault *fault = &loaded->fault;
  state->sent[axle][newest % BW_FAULT_PERIODS] = command;
  if (state->level <= 0.0 || !bw_fault_hits(fault, axle)) {
    state->held[axle] = state->has_started ? state->held[axle] : command;
    return command;
  }
  double wrong = command;
  if (fault->kind == BW_FAULT_LATE) {
    const size_t late = (size_t)lround(fault->delay / loaded->control_period);
    wrong = state->sent[axle][(newest + BW_FAULT_PERIODS - late) % BW_FAULT_PERIODS];
  } else if (fault->kind == BW_FAULT_FROZEN) {
    wrong = state->held[axle];
  } else if (fault->kind == BW_FAULT_LOST) {
    wrong = 0.0;
  } else if (fault->kind == BW_FAULT_SIGN) {
    wrong = -command;
  }
  return command + state->level * (wrong - command);
}

void bw_fault_force(const struct bw_case *loaded, double level, double speed, const double slip[2],
                    struct bw_hot_period *period) {
  const struct bw_fault *fault = &loaded->fault;
  if (fault->kind != BW_FAULT_SHORTED || level <= 0.0) {
    return;
  }
  for (int i = 0; i < 2; i++) {
    if (loaded->machine[i].is_fitted && bw_fault_hits(fault, i)) {
      /* limits have lost their share already */
      const double drag = level * bw_fault_drag(fault, speed * (1.0 - slip[i]));
      period->machine_max[i][0] += drag;
      period->machine_min[i][0] = level >= 1.0 ? drag : bw_min(drag, period->machine_max[i][0]);
    }
  }
}

/* share of its pressure that an axle loses at full level */
static double lost_share(const struct bw_fault *fault) {
  if (fault->kind == BW_FAULT_BOOSTER) {
    return fault->booster_share;
  }
  return fault->circuit_share * (fault->circuit == BW_FAULT_CIRCUIT_DIAGONAL ? 0.5 : 1.0);
}

static void lose_pressure(const struct bw_fault *fault, double level, int i,
                          struct bw_hot_period *period, struct bw_hot_state *state) {
  const double left = 1.0 - lost_share(fault) * level;
  period->friction_old[i][0] *= left;
  period->friction_step[i][0] *= left;
  if (fault->kind == BW_FAULT_CIRCUIT) {
    const double most = bw_max(period->friction_old[i][0],
                               period->friction_old[i][0] + period->friction_step[i][0]);
    state->pressure[i][0] = bw_min(state->pressure[i][0], most);
  }
}

/* a piston that does not come back */
static void drag_brake(const struct bw_friction *friction, double torque, int i,
                       struct bw_hot_period *period, struct bw_hot_state *state) {
  if (!(friction->per_pressure > 0.0)) {
    return;
  }
  const double floor_pressure = friction->threshold + torque / friction->per_pressure;
  const double newer = period->friction_old[i][0] + period->friction_step[i][0];
  period->friction_old[i][0] = bw_max(period->friction_old[i][0], floor_pressure);
  period->friction_step[i][0] = bw_max(newer, floor_pressure) - period->friction_old[i][0];
  period->friction_floor[i][0] = floor_pressure;
  state->pressure[i][0] = bw_max(state->pressure[i][0], floor_pressure);
}

void bw_fault_press(const struct bw_case *loaded, double level, struct bw_hot_period *period,
                    struct bw_hot_state *state) {
  const struct bw_fault *fault = &loaded->fault;
  if (level <= 0.0) {
    return;
  }
  for (int i = 0; i < 2; i++) {
    if (!bw_fault_hits(fault, i)) {
      continue;
    }
    if (fault->kind == BW_FAULT_BOOSTER || fault->kind == BW_FAULT_CIRCUIT) {
      lose_pressure(fault, level, i, period, state);
    } else if (fault->kind == BW_FAULT_DRAG) {
      drag_brake(&loaded->brakes.axle[i], level * fault->drag_torque, i, period, state);
    }
  }
}

void bw_fault_sense(const struct bw_case *loaded, double level, struct bw_blend_input *input) {
  const struct bw_fault *fault = &loaded->fault;
  if (level <= 0.0) {
    return;
  }
  if (fault->kind == BW_FAULT_SPEED_BIAS) {
    input->speed = bw_max(0.0, input->speed + level * fault->speed);
  }
  for (int i = 0; i < 2; i++) {
    if (!bw_fault_hits(fault, i)) {
      continue;
    }
    if (fault->kind == BW_FAULT_TORQUE_BIAS) {
      input->machine_estimate[i] += level * fault->bias_torque;
    } else if (fault->kind == BW_FAULT_PRESSURE_BIAS) {
      const double more = level * fault->pressure * loaded->brakes.axle[i].per_pressure;
      input->friction_estimate[i] = bw_max(0.0, input->friction_estimate[i] + more);
    }
  }
}

bool bw_fault_is_dead(const struct bw_fault *fault, double level, int axle) {
  if (fault->kind == BW_FAULT_SHORTED) {
    return level > 0.0 && bw_fault_hits(fault, axle);
  }
  const bool is_tripped = fault->kind == BW_FAULT_MACHINE_TRIP && bw_fault_hits(fault, axle);
  return level >= 1.0 && (is_tripped || fault->kind == BW_FAULT_CONTACTOR_OPEN);
}

bool bw_fault_is_cut_off(const struct bw_fault *fault, double level) {
  return fault->kind == BW_FAULT_CONTACTOR_OPEN && level >= 1.0;
}
