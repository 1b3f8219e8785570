/* SPDX-License-Identifier: MIT-0 */

/* Puts existing controller code, unchanged, behind the contract:
 *
 *     cc -shared -fPIC -I strategies -o wrapped.so strategies/examples/wrapped-controller.c \
 *        strategies/examples/existing-controller.c
 *     brakeweave run cases/hatchback-wltc.cfg --strategy ./wrapped.so --strategy series
 *
 * Three things differ between such code and the contract, and each has its function here: the
 * period (run_due_periods), the units and places of signals (fill_in, fill_request), and where
 * the state lives. The code's own static variables are fine: every run opens the object afresh. */

#include "blend.h"

#include "existing-controller.h"

enum { MACHINE_SHARE_PERCENT, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"machine_share_percent", 0.0, 100.0, 80.0, "share of the demand wanted from the machine"},
};

struct memory {
  int axle;                    /* that the machine drives */
  double torque_per_shaft;     /* N m at the axle per N m at the shaft, braking */
  double friction_front_share; /* of the friction torque */
  double next_call;            /* s, when ec_step() is due */
  struct ec_out out;           /* held between its calls */
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  const double front = info->friction_per_pressure[BW_FRONT];
  const double rear = info->friction_per_pressure[BW_REAR];
  memory->axle = info->machine_ratio[BW_FRONT] > 0.0 ? BW_FRONT : BW_REAR;
  if (info->machine_efficiency[memory->axle] > 0.0) {
    /* a gear's loss helps to brake */
    memory->torque_per_shaft =
        info->machine_ratio[memory->axle] / info->machine_efficiency[memory->axle];
  }
  memory->friction_front_share = front + rear > 0.0 ? front / (front + rear) : 0.5;
  memory->out.friction_share = 1.0f;
  ec_init((float)(params[MACHINE_SHARE_PERCENT] / 100.0));
}

/* SI at the axle -> the code's units at its places */
static void fill_in(const struct memory *memory, const struct bw_blend_input *input,
                    struct ec_in *in) {
  const double per_shaft = memory->torque_per_shaft;
  in->vehicle_speed_kmh = (float)(input->speed * 3.6);
  in->brake_request_nm = (float)input->demand_pedal;
  in->release_request_nm = (float)input->demand_overrun;
  in->machine_limit_nm =
      per_shaft > 0.0 ? (float)(input->machine_available[memory->axle] / per_shaft) : 0.0f;
  in->gear_ratio = (float)per_shaft;
}

/* the code's own period need not be the evaluator's: shorter, longer or no whole multiple of it */
static void run_due_periods(struct memory *memory, const struct bw_blend_info *info,
                            const struct bw_blend_input *input) {
  const double period = EC_PERIOD_MS * 1e-3;
  const double rounding = 1e-6 * info->period;
  struct ec_in in;
  fill_in(memory, input, &in);
  while (memory->next_call <= input->time + rounding) {
    ec_step(&in, &memory->out);
    memory->next_call += period;
  }
}

/* the held answer -> N m at the axles; friction follows the demand of this very moment */
static void fill_request(const struct memory *memory, const struct bw_blend_input *input,
                         struct bw_blend_request *request) {
  const double demand = input->demand_pedal + input->demand_overrun;
  const double friction = demand * memory->out.friction_share;
  double machine = memory->out.machine_torque_nm * memory->torque_per_shaft;
  if (machine > input->machine_available[memory->axle]) {
    machine = input->machine_available[memory->axle];
  }
  request->machine[memory->axle] = machine;
  request->machine[1 - memory->axle] = 0.0;
  request->friction[BW_FRONT] = friction * memory->friction_front_share;
  request->friction[BW_REAR] = friction - request->friction[BW_FRONT];
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  struct memory *memory = state;
  (void)params;
  run_due_periods(memory, info, input);
  fill_request(memory, input, request);
}

const struct bw_blend_strategy bw_blend_export = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "wrapped-controller",
    .summary = "existing code with its own period and units behind the contract",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
