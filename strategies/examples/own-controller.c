/* SPDX-License-Identifier: MIT-0 */

/* A blend controller of your own, to start from. It needs blend.h and nothing else:
 *
 *     cc -shared -fPIC -I strategies -o mine.so strategies/examples/own-controller.c
 *     brakeweave list parameters --strategy ./mine.so
 *     brakeweave run cases/hatchback-wltc.cfg --strategy ./mine.so --strategy series
 *
 * Idea: the machines take a share of the demand that a parameter sets, fading out straight between
 * two speeds, and friction fills in the rest in the proportion of its own plumbing. */

#include "blend.h"

/* One row per parameter: name with its unit, range, default, one line. The values arrive in step()
 * in this order and in the unit of the name; cases set them as strategy.own-controller.NAME. */
enum { SHARE_PERCENT, FADE_FULL_KMH, FADE_ZERO_KMH, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"share_percent", 0.0, 100.0, 90.0, "greatest share of the demand given to the machines"},
    {"fade_full_kmh", 0.0, 60.0, 15.0, "the machines give their full share above this speed"},
    {"fade_zero_kmh", 0.0, 60.0, 6.0, "and nothing below this one"},
};

/* What the controller remembers between two calls. The evaluator gives the memory, zeroed. */
struct memory {
  double friction_front_share;
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  const double front = info->friction_per_pressure[BW_FRONT];
  const double rear = info->friction_per_pressure[BW_REAR];
  (void)params;
  memory->friction_front_share = front + rear > 0.0 ? front / (front + rear) : 0.5;
}

static double fade(double speed, const double *params) {
  const double zero = params[FADE_ZERO_KMH] / 3.6; /* m/s */
  const double full = params[FADE_FULL_KMH] / 3.6;
  if (speed <= zero) {
    return 0.0;
  }
  return speed >= full ? 1.0 : (speed - zero) / (full - zero);
}

/* Called once per control period. All torques in N m at the axle, positive when they retard. */
static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  const struct memory *memory = state;
  const double demand = input->demand_pedal + input->demand_overrun;
  const double wanted = demand * params[SHARE_PERCENT] / 100.0 * fade(input->speed, params);
  const double front = input->machine_available[BW_FRONT];
  const double rear = input->machine_available[BW_REAR];
  const double most = front + rear;
  const double given = wanted < most ? wanted : most;
  const double friction = demand - given;
  (void)info;
  request->machine[BW_FRONT] = most > 0.0 ? given * front / most : 0.0;
  request->machine[BW_REAR] = most > 0.0 ? given * rear / most : 0.0;
  request->friction[BW_FRONT] = friction * memory->friction_front_share;
  request->friction[BW_REAR] = friction - request->friction[BW_FRONT];
}

/* The program looks for this name. */
const struct bw_blend_strategy bw_blend_export = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "own-controller",
    .summary = "a fixed share to the machines, faded out at low speed",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
