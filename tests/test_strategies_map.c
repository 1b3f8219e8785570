/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "strategy_bench.h"
#include "whole_case.h"

#include "strategies/builtin.h"

/** The strategy least-loss with loss maps: what it says of them against a look-up of its own and a
 *  fine scan of all splits, and what the maps are worth on a cycle. Maps are invented. */

enum { SPEEDS = 5, TORQUES = 8, CELLS = 200 };

struct map {
  double speed[SPEEDS];
  double torque[TORQUES];
  double loss[SPEEDS * TORQUES];
};

/* rough: losses up and down over both axes, so that the power has many hills; else they rise ever
 * more steeply with the torque, as a machine's do */
static struct bw_blend_loss_map any_map(struct map *map, uint64_t *seed, bool is_rough) {
  map->speed[0] = test_uniform(seed, 0.0, 1.0) < 0.5 ? 0.0 : 60.0; /* a map may begin above 0 */
  map->torque[0] = test_uniform(seed, 0.0, 1.0) < 0.5 ? 0.0 : 4.0;
  for (int i = 1; i < SPEEDS; i++) {
    map->speed[i] = map->speed[i - 1] + test_uniform(seed, 50.0, 350.0);
  }
  for (int j = 1; j < TORQUES; j++) {
    map->torque[j] = map->torque[j - 1] + test_uniform(seed, 2.0, 40.0);
  }
  for (int i = 0; i < SPEEDS; i++) {
    const double idle = test_uniform(seed, 100.0, 2000.0);
    const double bend = test_uniform(seed, 0.02, 0.5);
    for (int j = 0; j < TORQUES; j++) {
      map->loss[i * TORQUES + j] = is_rough ? test_uniform(seed, 100.0, 9000.0)
                                            : idle + bend * map->torque[j] * map->torque[j];
    }
  }
  return (struct bw_blend_loss_map){SPEEDS, TORQUES, map->speed, map->torque, map->loss};
}

/* place of `at` on an axis as interval and share, held outside: written anew, not the program's */
static size_t interval_of(const double *axis, size_t n, double at, double *share) {
  size_t i = 0;
  while (i + 2 < n && at >= axis[i + 1]) {
    i++;
  }
  *share = fmin(1.0, fmax(0.0, (at - axis[i]) / (axis[i + 1] - axis[i])));
  return i;
}

static double loss_at(const struct bw_blend_loss_map *map, double speed, double torque) {
  double a = 0.0;
  double b = 0.0;
  const size_t i = interval_of(map->speed, map->speeds, speed, &a);
  const size_t j = interval_of(map->torque, map->torques, torque, &b);
  const double *low = map->loss + i * map->torques + j;
  const double *high = low + map->torques;
  return (1.0 - a) * ((1.0 - b) * low[0] + b * low[1]) + a * ((1.0 - b) * high[0] + b * high[1]);
}

/* W into the DC link, by the definition */
static double sent_by(const struct bw_blend_info *info, int axle, double speed, double torque) {
  if (!(torque > 0.0) && info->machine_gates_off[axle] != 0) {
    return 0.0;
  }
  const double omega = speed / info->tyre_radius * info->machine_ratio[axle];
  const double shaft = torque * info->machine_efficiency[axle] / info->machine_ratio[axle];
  const double *k = info->machine_loss[axle];
  const double loss = info->machine_loss_map[axle].speeds > 0
                          ? loss_at(&info->machine_loss_map[axle], omega, shaft)
                          : k[0] + omega * (k[1] + omega * k[2]) + k[3] * shaft * shaft;
  return shaft * omega - loss;
}

static double sent(const struct bw_blend_info *info, double speed, double front, double rear) {
  return sent_by(info, 0, speed, front) + sent_by(info, 1, speed, rear);
}

/* a car whose machines brake in full down to rest, every exchange free */
static struct bench car_with_maps(uint64_t *seed, struct map maps[2], int kind) {
  struct bench bench = bench_of("least-loss", BW_LAYOUT_PER_AXLE);
  const double loss[2][4] = {{160.0, 0.65, 0.0018, 0.24}, {180.0, 0.8, 0.003, 0.15}};
  memcpy(bench.info.machine_loss, loss, sizeof loss);
  bench.info.machine_torque_peak[1] = 1900.0;
  bench.info.machine_ratio[1] = 8.3;
  bench.info.machine_efficiency[1] = 0.96;
  for (int i = 0; i < 2; i++) {
    bench.info.machine_gates_off[i] = test_uniform(seed, 0.0, 1.0) < 0.3;
    if (kind % 3 != i + 1) { /* both, rear alone, front alone */
      bench.info.machine_loss_map[i] = any_map(&maps[i], seed, kind % 2 == 0);
    }
  }
  set_param(&bench, "switch_gain_w", 0.0);
  set_param(&bench, "felt_percent", 0.0);
  set_param(&bench, "rise_nm_per_s", 1e6);
  restart(&bench);
  return bench;
}

/* The property that defines the strategy: among all pairs of torques within what is available and
 * what is demanded none loses less of the same braking. Below z = 0.07 the balance rule with its
 * margin of 0.02 admits every split (0.18 n_r > 0.07), so this is all that limits them. */
static void none_loses_less(void **state) {
  (void)state;
  uint64_t seed = 910;
  int inner = 0;
  for (int n = 0; n < 900; n++) {
    struct map maps[2];
    struct bench bench = car_with_maps(&seed, maps, n);
    const double demand = test_uniform(&seed, 0.002, 0.07) * 1537.0 * BW_GRAVITY * 0.311;
    struct bw_blend_input input =
        driving(demand, 0.0, test_uniform(&seed, 0.0, 600.0), test_uniform(&seed, 0.0, 600.0));
    input.speed = test_uniform(&seed, 2.0, 45.0);
    const struct bw_blend_request request = settle(&bench, &input);
    const double *put = request.machine;
    const double *most = input.machine_available;
    const int *gated = bench.info.machine_gates_off;
    const bool are_gated = gated[0] != 0 && gated[1] != 0;
    CHECK_WITHIN(put[0], 0.0, most[0]);
    CHECK_WITHIN(put[1], 0.0, most[1]);
    CHECK_WITHIN(put[0] + put[1], 0.0, demand * (1.0 + 1e-14));
    const double reached = sent(&bench.info, input.speed, put[0], put[1]);
    for (int k = 0; k <= CELLS; k++) {
      const double front = fmin(most[0], demand) * k / CELLS;
      for (int m = 0; m <= CELLS; m++) {
        const double rear = fmin(most[1], demand - front) * m / CELLS;
        if (front + rear > 0.0 || !are_gated) { /* letting go of both is no split */
          CHECK_WITHIN(reached, sent(&bench.info, input.speed, front, rear) - 1e-6, 1e9);
        }
      }
    }
    inner += put[0] > 0.0 && put[1] > 0.0 && put[0] < most[0] && put[1] < most[1];
  }
  assert_in_range(inner, 100, 900); /* and not because one machine was always at an end */
}

/* Two lines that are equally steep at some speed: the best split jumps there, and with a trembling
 * speed it would jump to and fro. A split that is kept instead loses no more than a fiftieth of
 * switch_gain, and there are far fewer jumps. */
static void a_trembling_speed_does_not_toss_the_torque(void **state) {
  (void)state;
  static const double gain = 100.0; /* W */
  uint64_t seed = 99;
  int jumps[2] = {0, 0};
  for (int n = 0; n < 20; n++) {
    struct map maps[2];
    struct bench bench[2];
    bench[0] = car_with_maps(&seed, maps, 3);
    memset(bench[0].info.machine_gates_off, 0, sizeof bench[0].info.machine_gates_off);
    bench[1] = bench[0];
    set_param(&bench[1], "switch_gain_w", gain);
    double last[2] = {0.0, 0.0};
    for (int k = 0; k < 2; k++) {
      restart(&bench[k]);
    }
    for (int i = 0; i < 3000; i++) {
      struct bw_blend_input input = driving(300.0, 0.0, 600.0, 600.0);
      input.speed = 33.0 - 0.01 * i + test_uniform(&seed, -0.03, 0.03);
      double power[2];
      for (int k = 0; k < 2; k++) {
        const struct bw_blend_request request = ask(&bench[k], &input);
        const double *put = request.machine;
        power[k] = sent(&bench[k].info, input.speed, put[0], put[1]);
        jumps[k] += i > 0 && fabs(put[0] - last[k]) > 20.0;
        last[k] = put[0];
      }
      CHECK_WITHIN(power[0] - power[1], -1e-6, 0.02 * gain + 1e-6);
    }
  }
  print_message("jumps: %d, with hysteresis %d\n", jumps[0], jumps[1]);
  assert_true(jumps[1] > 0 && 10 * jumps[1] < 6 * jumps[0]);
}

/* a fine map of the four terms is the four terms: the closed form and the corners agree within what
 * a line may differ from its parabola, kT (width / 2)^2 per machine */
static void a_map_of_the_terms_changes_nothing(void **state) {
  (void)state;
  enum { FINE = BW_BLEND_LOSS_POINTS };
  static double speed[FINE];
  static double torque[FINE];
  static double loss[2][FINE * FINE];
  uint64_t seed = 911;
  struct map unused[2];
  struct bench plain = car_with_maps(&seed, unused, 0);
  memset(plain.info.machine_loss_map, 0, sizeof plain.info.machine_loss_map);
  restart(&plain);
  struct bench mapped = plain;
  for (int i = 0; i < 2; i++) {
    const double *k = plain.info.machine_loss[i];
    for (int n = 0; n < FINE * FINE; n++) {
      const int row = n / FINE;
      const double w = speed[row] = 30.0 * row;
      const double t = torque[n % FINE] = 2.0 * (n % FINE);
      loss[i][n] = k[0] + w * (k[1] + w * k[2]) + k[3] * t * t;
    }
    mapped.info.machine_loss_map[i] =
        (struct bw_blend_loss_map){FINE, FINE, speed, torque, loss[i]};
  }
  restart(&mapped);
  for (int n = 0; n < 500; n++) {
    const double demand = test_uniform(&seed, 10.0, 320.0);
    struct bw_blend_input input =
        driving(demand, 0.0, test_uniform(&seed, 0.0, 800.0), test_uniform(&seed, 0.0, 800.0));
    input.speed = test_uniform(&seed, 3.0, 40.0);
    const struct bw_blend_request by_terms = settle(&plain, &input);
    const struct bw_blend_request by_map = settle(&mapped, &input);
    const double lost = sent(&plain.info, input.speed, by_terms.machine[0], by_terms.machine[1]) -
                        sent(&plain.info, input.speed, by_map.machine[0], by_map.machine[1]);
    CHECK_WITHIN(lost, -1e-6, 0.24 + 0.15);
  }
}

/* least-loss as it would be if it were told the four terms only */
static void hide(const struct bw_blend_info *info, struct bw_blend_info *shown) {
  *shown = *info;
  memset(shown->machine_loss_map, 0, sizeof shown->machine_loss_map);
}

static void start_blind(void *state, const struct bw_blend_info *info, const double *params) {
  struct bw_blend_info shown;
  hide(info, &shown);
  BW_STRATEGY_LEAST_LOSS.start(state, &shown, params);
}

static void step_blind(void *state, const struct bw_blend_info *info, const double *params,
                       const struct bw_blend_input *input, struct bw_blend_request *request) {
  struct bw_blend_info shown;
  hide(info, &shown);
  BW_STRATEGY_LEAST_LOSS.step(state, &shown, params, input, request);
}

static double recovered(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                        double *share, double *dip) {
  struct bw_evaluation evaluation = evaluate_case(made, strategy);
  const double *value = evaluation.summary.value;
  const double energy = value[BW_SUMMARY_ENERGY_BATTERY];
  *share = value[BW_SUMMARY_OF_RECOVERABLE_RULE];
  *dip = value[BW_SUMMARY_DIP_PEAK];
  assert_true(value[BW_SUMMARY_AXLE_VIOLATIONS] < 1.0);
  bw_evaluation_free(&evaluation);
  return energy;
}

/* a map of another kind than the four terms: kt grows or falls with the speed, and part of the loss
 * is straight in the torque */
static void fit_map(struct bw_machine *machine, double straight, double low, double high) {
  double omega[13];
  double torque[10];
  double loss[130];
  for (int n = 0; n < 130; n++) {
    const int row = n / 10;
    const double w = omega[row] = 125.0 * row;
    const double t = torque[n % 10] = 35.0 * (n % 10);
    const double kt = low + (high - low) * w / 1500.0;
    loss[n] = 160.0 + 0.65 * w + 0.0018 * w * w + straight * t + kt * t * t;
  }
  assert_int_equal(bw_table2_make(omega, 13, torque, 10, loss, &machine->loss_map, NULL), BW_OK);
}

/* on cycles with two machines whose maps the four terms describe badly: told the maps the strategy
 * recovers more than with the terms alone, and nearly all that the bound leaves */
static void maps_recover_more_than_terms(void **state) {
  (void)state;
  static const char *const cycles[] = {"cycle.name=us06", "cycle.name=udds"};
  struct bw_blend_strategy blind = BW_STRATEGY_LEAST_LOSS;
  blind.start = start_blind;
  blind.step = step_blind;
  for (size_t c = 0; c < 2; c++) {
    const struct bw_override cycle = {cycles[c]};
    struct bw_case *loaded = load_case("cases/crossover-us06.cfg", &cycle, 1);
    fit_map(&loaded->machine[BW_FRONT], 2.0, 0.05, 0.15);
    fit_map(&loaded->machine[BW_REAR], 9.0, 0.1, 0.5);
    double share[2];
    double dip[2];
    const double told = recovered(loaded, &BW_STRATEGY_LEAST_LOSS, &share[0], &dip[0]);
    const double guessed = recovered(loaded, &blind, &share[1], &dip[1]);
    print_message("%s: with maps %.1f kJ (%.4f of the bound, dip %.3f m/s2), with terms %.1f kJ "
                  "(%.4f, %.3f)\n",
                  cycles[c], told, share[0], dip[0], guessed, share[1], dip[1]);
    CHECK_WITHIN(told, guessed, 1.1 * guessed);
    CHECK_WITHIN(share[0], 0.95, 1.0);
    bw_case_destroy(loaded);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(none_loses_less),
      cmocka_unit_test(a_trembling_speed_does_not_toss_the_torque),
      cmocka_unit_test(a_map_of_the_terms_changes_nothing),
      cmocka_unit_test(maps_recover_more_than_terms),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
