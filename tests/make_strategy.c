/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_case.h"

#include "strategies/blend_common.h"

/* machines take `share` of the demand as far as they can; friction fills when told to */
static void blend(const struct bw_blend_info *info, const struct bw_blend_input *input,
                  double share, bool fills, struct bw_blend_request *request) {
  const double demand = input->demand_pedal + input->demand_overrun;
  const double machine = blend_split_machines(input, share * demand, request);
  blend_friction_fixed(info, blend_fixed_share(info), fills ? demand - machine : 0.0, request);
}

static void step_friction(void *state, const struct bw_blend_info *info, const double *params,
                          const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  (void)params;
  blend(info, input, 0.0, true, request);
}

static void step_machine(void *state, const struct bw_blend_info *info, const double *params,
                         const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  (void)params;
  blend(info, input, 1.0, false, request);
}

static void step_fill(void *state, const struct bw_blend_info *info, const double *params,
                      const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  (void)params;
  blend(info, input, 1.0, true, request);
}

static void step_sixty(void *state, const struct bw_blend_info *info, const double *params,
                       const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  (void)params;
  blend(info, input, 0.6, true, request);
}

static void step_ramp(void *state, const struct bw_blend_info *info, const double *params,
                      const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  const double gone = (input->time - params[TEST_RAMP_START]) / params[TEST_RAMP_LENGTH];
  blend(info, input, 1.0 - blend_smaller(1.0, blend_not_negative(gone)), true, request);
}

static void step_fade(void *state, const struct bw_blend_info *info, const double *params,
                      const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  const double ahead = input->speed - 0.5 * info->period * input->deceleration;
  const double share = blend_fade(ahead, params[TEST_FADE_FROM], params[TEST_FADE_TO]);
  blend(info, input, share, true, request);
}

static const struct bw_blend_param RAMP_PARAMS[TEST_RAMP_PARAMS] = {
    {"start_s", 0.0, 100.0, 2.0, "the machines begin to give way"},
    {"ramp_s", 0.001, 100.0, 1.0, "and have gone after this time"},
};

static const struct bw_blend_param FADE_PARAMS[TEST_FADE_PARAMS] = {
    {"from_mps", 0.0, 100.0, 12.0 / 3.6, "the machines begin to fade"},
    {"to_mps", 0.0, 100.0, 7.0 / 3.6, "and have gone"},
};

const struct bw_blend_strategy TEST_FRICTION = {.abi = BW_BLEND_ABI,
                                                .flags = BW_BLEND_WITHOUT_MACHINE,
                                                .name = "test-friction",
                                                .summary = "friction alone",
                                                .state_size = 1,
                                                .step = step_friction};

const struct bw_blend_strategy TEST_MACHINE = {.abi = BW_BLEND_ABI,
                                               .name = "test-machine",
                                               .summary = "machines alone",
                                               .state_size = 1,
                                               .step = step_machine};

const struct bw_blend_strategy TEST_FILL = {.abi = BW_BLEND_ABI,
                                            .name = "test-fill",
                                            .summary = "machines first, friction fills",
                                            .state_size = 1,
                                            .step = step_fill};

const struct bw_blend_strategy TEST_SIXTY = {.abi = BW_BLEND_ABI,
                                             .name = "test-sixty",
                                             .summary = "60 % by the machines, friction fills",
                                             .state_size = 1,
                                             .step = step_sixty};

const struct bw_blend_strategy TEST_RAMP = {.abi = BW_BLEND_ABI,
                                            .name = "test-ramp",
                                            .summary = "machines give way over a time",
                                            .params = RAMP_PARAMS,
                                            .param_count = TEST_RAMP_PARAMS,
                                            .state_size = 1,
                                            .step = step_ramp};

const struct bw_blend_strategy TEST_FADE = {.abi = BW_BLEND_ABI,
                                            .name = "test-fade",
                                            .summary = "machines give way over a speed band",
                                            .params = FADE_PARAMS,
                                            .param_count = TEST_FADE_PARAMS,
                                            .state_size = 1,
                                            .step = step_fade};
