/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/rust_care.h"

#include "model/vehicle.h"

#include <math.h>

static const double SHARE = 0.3;        /* of the machines' torque that may be moved */
static const double GENTLE_RATE = 0.14; /* z below which braking is gentle */
static const double FELT_SHARE = 0.25;  /* of the felt line used by the exchange */

/* N m that the exchange may change by in one period */
static double change_of(const struct bw_blend_info *info, int axle) {
  const double delay = info->friction_dead_time[axle] + info->friction_lag[axle];
  const double torque = FELT_SHARE * info->felt_deceleration * info->mass * info->tyre_radius;
  return torque * info->period / fmax(delay, info->period);
}

static void move(struct bw_blend_request *request, int axle, double torque) {
  const double own = fmin(torque, request->machine[axle]);
  request->machine[axle] -= own;
  request->machine[1 - axle] -= torque - own;
  request->friction[axle] += torque;
}

void bw_rust_care_look(const struct bw_rust_care *care, const struct bw_blend_info *info,
                       struct bw_rust_care_state *state, struct bw_blend_input *input) {
  if (!bw_rust_care_is_on(care)) {
    return;
  }
  const double way = input->speed * info->period;
  state->distance += way;
  for (int i = 0; i < 2; i++) {
    const double delay = info->friction_dead_time[i] + info->friction_lag[i];
    state->work[i] += input->friction_estimate[i] * way / info->tyre_radius;
    state->shown[i] += (state->moved[i] - state->shown[i]) * info->period / (delay + info->period);
    input->friction_estimate[i] = fmax(0.0, input->friction_estimate[i] - state->shown[i]);
  }
}

void bw_rust_care_apply(const struct bw_rust_care *care, const struct bw_blend_info *info,
                        const struct bw_blend_input *input, struct bw_rust_care_state *state,
                        struct bw_blend_request *request) {
  if (!bw_rust_care_is_on(care)) {
    return;
  }
  const double demand = input->demand_pedal + input->demand_overrun;
  const bool is_gentle = demand < GENTLE_RATE * info->mass * BW_GRAVITY * info->tyre_radius;
  for (int i = 0; i < 2; i++) {
    const double machines = request->machine[0] + request->machine[1];
    const bool is_wanted =
        is_gentle && state->work[i] < care->work_per_distance[i] * state->distance;
    const double aim = is_wanted ? SHARE * machines : 0.0;
    const double change = change_of(info, i);
    const double moved = fmin(fmax(aim, state->moved[i] - change), state->moved[i] + change);
    const double room = fmax(0.0, info->friction_torque_max[i] - request->friction[i]);
    state->moved[i] = fmin(fmin(moved, machines), room);
    move(request, i, state->moved[i]);
  }
}
