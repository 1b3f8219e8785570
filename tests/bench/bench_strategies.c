/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "strategies/registry.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/** Times one call of each strategy's step over a made stop with a trembling demand, the best of
 *  many rounds; see README.md beside this file. Never a test. */

enum { CALLS = 4096, ROUNDS = 60, PARAMS_MAX = 32, MAP_SPEEDS = 13, MAP_TORQUES = 10 };

static double now(void) {
  struct timespec time;
  (void)clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* the figures of an invented crossover with a machine on each axle */
static const struct bw_blend_info CAR = {
    .period = 0.01,
    .mass = 2050.0,
    .wheelbase = 2.9,
    .cg_to_front = 1.43,
    .cg_height = 0.61,
    .tyre_radius = 0.35,
    .balance_slope = 0.85,
    .felt_deceleration = 0.147,
    .machine_torque_peak = {2177.0, 2893.0},
    .machine_ratio = {9.6, 9.1},
    .machine_efficiency = {0.97, 0.975},
    .machine_loss = {{160.0, 0.65, 0.0018, 0.24}, {180.0, 0.8, 0.003, 0.15}},
    .machine_dead_time = {0.006, 0.005},
    .machine_lag = {0.014, 0.01},
    .friction_dead_time = {0.032, 0.035},
    .friction_lag = {0.065, 0.07},
    .friction_torque_max = {8670.0, 5080.0},
    .friction_per_pressure = {5.8e-4, 3.4e-4},
    .parallel_ratio = 1.0,
    .layout = BW_LAYOUT_PER_AXLE,
    .machine_gates_off = {1, 0},
};

/* the car's losses as a map of the size of a shipped one */
struct map {
  double speed[MAP_SPEEDS];
  double torque[MAP_TORQUES];
  double loss[MAP_SPEEDS * MAP_TORQUES];
};

static struct bw_blend_loss_map make_map(struct map *map, const double loss[4]) {
  for (int i = 0; i < MAP_SPEEDS; i++) {
    map->speed[i] = 125.0 * i;
    for (int j = 0; j < MAP_TORQUES; j++) {
      const double torque = 25.0 * j;
      map->torque[j] = torque;
      map->loss[i * MAP_TORQUES + j] =
          loss[0] + map->speed[i] * (loss[1] + map->speed[i] * loss[2]) + loss[3] * torque * torque;
    }
  }
  return (struct bw_blend_loss_map){MAP_SPEEDS, MAP_TORQUES, map->speed, map->torque, map->loss};
}

static void fill(struct bw_blend_input *input) {
  for (int i = 0; i < CALLS; i++) {
    const double tremble = (double)(i * 7919 % 1000) / 1000.0;
    input[i] = (struct bw_blend_input){
        .time = 0.01 * i,
        .speed = 30.0 * (1.0 - (double)i / CALLS),
        .deceleration = 2.0 + tremble,
        .demand_pedal = 2500.0 * tremble,
        .demand_overrun = 200.0,
        .machine_available = {1500.0, 2000.0},
        .machine_available_alone = {1500.0, 2000.0},
        .machine_estimate = {400.0, 500.0},
        .friction_estimate = {300.0, 100.0},
        .axle_load = {12000.0, 8000.0},
        .slip = {0.01, 0.01},
        .state_of_charge = 0.6,
    };
  }
}

/* ns per call; negative without memory */
static double time_of(const struct bw_blend_strategy *strategy, const struct bw_blend_info *car,
                      const struct bw_blend_input *input) {
  double params[PARAMS_MAX] = {0.0};
  for (size_t i = 0; i < strategy->param_count && i < PARAMS_MAX; i++) {
    params[i] = strategy->params[i].fallback;
  }
  void *state = calloc(1, strategy->state_size);
  if (state == NULL) {
    return -1.0;
  }
  strategy->start(state, car, params);
  double best = 1e9;
  volatile double kept = 0.0; /* the answers are used */
  for (int round = 0; round < ROUNDS; round++) {
    const double start = now();
    for (int i = 0; i < CALLS; i++) {
      struct bw_blend_request request;
      strategy->step(state, car, params, &input[i], &request);
      kept += request.machine[0];
    }
    const double taken = (now() - start) / CALLS * 1e9;
    best = taken < best ? taken : best;
  }
  free(state);
  return best;
}

int main(void) {
  struct bw_blend_input *input = calloc(CALLS, sizeof *input);
  if (input == NULL) {
    return 4;
  }
  fill(input);
  const double base = time_of(bw_strategy_at(0), &CAR, input);
  printf("%-20s %10s %14s\n", "strategy", "ns a call", "over the first");
  for (size_t i = 0; i < bw_strategy_count(); i++) {
    const double taken = time_of(bw_strategy_at(i), &CAR, input);
    printf("%-20s %10.1f %14.1f\n", bw_strategy_at(i)->name, taken, taken - base);
  }
  static struct map maps[2];
  struct bw_blend_info mapped = CAR;
  for (int i = 0; i < 2; i++) {
    mapped.machine_loss_map[i] = make_map(&maps[i], CAR.machine_loss[i]);
    const double taken = time_of(bw_strategy_find("least-loss"), &mapped, input);
    printf("least-loss, %d map%-4s %8.1f %14.1f\n", i + 1, i == 0 ? "" : "s", taken, taken - base);
  }
  free(input);
  return 0;
}
