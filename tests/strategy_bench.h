/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_STRATEGY_BENCH_H
#define BW_STRATEGY_BENCH_H

/** One strategy at work outside a run: its parameters, its memory, and questions put to it. */

#include "check.h"

#include "strategies/registry.h"

#include <string.h>

enum { BENCH_PARAMS_MAX = 8, BENCH_STATE_MAX = 4096 };

/** A strategy at work, with its parameters and memory. */
struct bench {
  const struct bw_blend_strategy *strategy;
  struct bw_blend_info info;
  double params[BENCH_PARAMS_MAX];
  _Alignas(16) unsigned char state[BENCH_STATE_MAX];
};

/** An invented car with odd numbers: both axles may carry a machine. */
static inline struct bw_blend_info car(enum bw_blend_layout layout) {
  return (struct bw_blend_info){.period = 0.01,
                                .mass = 1537.0,
                                .wheelbase = 2.61,
                                .cg_to_front = 1.17,
                                .cg_height = 0.53,
                                .tyre_radius = 0.311,
                                .balance_slope = 0.7,
                                .felt_deceleration = 0.147,
                                .machine_torque_peak = {2100.0, 0.0},
                                .machine_ratio = {9.1, 0.0},
                                .machine_efficiency = {0.97, 0.0},
                                .friction_torque_max = {4100.0, 2300.0},
                                .friction_per_pressure = {3.7e-4, 1.9e-4},
                                .parallel_ratio = 0.43,
                                .layout = layout};
}

static inline void set_param(struct bench *bench, const char *name, double value) {
  for (size_t i = 0; i < bench->strategy->param_count; i++) {
    if (strcmp(bench->strategy->params[i].name, name) == 0) {
      bench->params[i] = value;
      return;
    }
  }
  print_error("no parameter %s\n", name);
  fail();
}

static inline void restart(struct bench *bench) {
  memset(bench->state, 0, sizeof bench->state);
  if (bench->strategy->start != NULL) {
    bench->strategy->start(bench->state, &bench->info, bench->params);
  }
}

static inline struct bench bench_of(const char *name, enum bw_blend_layout layout) {
  struct bench bench = {.strategy = bw_strategy_find(name), .info = car(layout)};
  assert_non_null(bench.strategy);
  assert_in_range(bench.strategy->param_count, 0, BENCH_PARAMS_MAX);
  assert_in_range(bench.strategy->state_size, 0, BENCH_STATE_MAX);
  for (size_t i = 0; i < bench.strategy->param_count; i++) {
    bench.params[i] = bench.strategy->params[i].fallback;
  }
  restart(&bench);
  return bench;
}

static inline struct bw_blend_request ask(struct bench *bench, const struct bw_blend_input *input) {
  struct bw_blend_request request = {{(double)NAN, (double)NAN}, {(double)NAN, (double)NAN}};
  bench->strategy->step(bench->state, &bench->info, bench->params, input, &request);
  return request;
}

/** Long enough for every rise limit to be through; machines and friction give what they were asked
 *  for the last time. */
static inline struct bw_blend_request settle(struct bench *bench,
                                             const struct bw_blend_input *input) {
  struct bw_blend_input now = *input;
  for (int i = 0; i < 300; i++) {
    const struct bw_blend_request request = ask(bench, &now);
    for (size_t k = 0; k < 2; k++) {
      now.machine_estimate[k] = request.machine[k];
      now.friction_estimate[k] = request.friction[k];
    }
  }
  return ask(bench, &now);
}

static inline struct bw_blend_input driving(double pedal, double overrun, double front,
                                            double rear) {
  return (struct bw_blend_input){.speed = 17.0,
                                 .demand_pedal = pedal,
                                 .demand_overrun = overrun,
                                 .machine_available = {front, rear},
                                 .machine_available_alone = {front, rear},
                                 .axle_load = {8000.0, 7000.0},
                                 .charge_power = 1e6,
                                 .state_of_charge = 0.5};
}

static inline double total(const struct bw_blend_request *request) {
  return request->machine[0] + request->machine[1] + request->friction[0] + request->friction[1];
}

#endif
