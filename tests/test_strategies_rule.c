/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "strategy_bench.h"

#include "assess/balance.h"
#include "model/vehicle.h"

/** Strategies that reach for the balance rule's lines or for the best of two machines: they keep
 *  the rule as the evaluator judges it, nothing more can be had, and optima are optima (against
 *  searches over a grid). */

static const struct bw_vehicle VEHICLE = {
    .load = {{.mass = 1537.0, .cg_to_front = 1.17, .cg_height = 0.53}}, .wheelbase = 2.61};
static const double WEIGHT_TORQUE = 1537.0 * BW_GRAVITY * 0.311; /* N m at z = 1 */

/* as the evaluator judges: axle torques front and rear */
static struct bw_balance_check judge(double front, double rear) {
  const double z = (front + rear) / WEIGHT_TORQUE;
  const double force[2] = {front / 0.311, rear / 0.311};
  double load[2];
  bw_vehicle_axle_loads(&VEHICLE, 0.0, z * BW_GRAVITY, load);
  return bw_balance_check(force, load, 1537.0 * BW_GRAVITY, 0.7);
}

static double front_of(const struct bw_blend_request *request) {
  return request->machine[0] + request->friction[0];
}

static double rear_of(const struct bw_blend_request *request) {
  return request->machine[1] + request->friction[1];
}

/* a car strong enough for any braking, without margins */
static struct bench bold(const char *name, enum bw_blend_layout layout) {
  struct bench bench = bench_of(name, layout);
  bench.info.friction_torque_max[0] = bench.info.friction_torque_max[1] = 1e5;
  bench.info.friction_per_pressure[0] = 4.32e-4; /* 72 % in front: keeps the rule by itself */
  bench.info.friction_per_pressure[1] = 1.68e-4;
  bench.info.machine_torque_peak[1] = 2100.0;
  bench.info.machine_ratio[1] = 8.3;
  bench.info.machine_efficiency[1] = 0.96;
  set_param(&bench, "margin_percent", 0.0);
  set_param(&bench, "order_ramp_percent", 0.1);
  restart(&bench);
  return bench;
}

/* most front or rear torque by search: the greatest machine torque whose split is admitted */
static double searched(double demand, bool is_front) {
  double best = 0.0;
  for (int i = 0; i <= 20000; i++) {
    const double one = demand * i / 20000.0;
    const double other = demand - one;
    if (judge(is_front ? one : other, is_front ? other : one).margin >= -1e-12) {
      best = one;
    }
  }
  return best;
}

/* one machine: it takes exactly what the rule leaves to its axle */
static void boundary_is_reached_and_kept(void **state) {
  (void)state;
  uint64_t seed = 71;
  for (int i = 0; i < 400; i++) {
    const bool is_front = i % 2 == 0;
    double z = test_uniform(&seed, 0.02, 0.7);
    if (z > 0.138 && z < 0.151) {
      z = 0.2; /* the order comes in a little early */
    }
    const double demand = z * WEIGHT_TORQUE;
    struct bench bench = bold("rule-boundary", BW_LAYOUT_PER_AXLE);
    const struct bw_blend_input input =
        driving(demand, 0.0, is_front ? 9e3 : 0.0, is_front ? 0.0 : 9e3);
    const struct bw_blend_request request = settle(&bench, &input);
    CHECK_WITHIN(judge(front_of(&request), rear_of(&request)).margin, -1e-6, (double)INFINITY);
    CHECK_CLOSE(request.machine[is_front ? 0 : 1], searched(demand, is_front), demand / 5000.0);
    CHECK_RELATIVE(total(&request), demand, 1e-12);
  }
}

/* two machines: together all of the demand where some split admits it, else all they have */
static void boundary_uses_both_machines(void **state) {
  (void)state;
  uint64_t seed = 72;
  for (int i = 0; i < 4000; i++) {
    const double demand = test_uniform(&seed, 0.02, 0.6) * WEIGHT_TORQUE;
    struct bench bench = bold("rule-boundary", BW_LAYOUT_PER_AXLE);
    const double front = test_uniform(&seed, 0.0, 4e3);
    const double rear = test_uniform(&seed, 0.0, 4e3);
    const struct bw_blend_input input = driving(demand, 0.0, front, rear);
    const struct bw_blend_request request = settle(&bench, &input);
    const struct bw_balance_check check = judge(front_of(&request), rear_of(&request));
    CHECK_WITHIN(check.margin, -1e-6, (double)INFINITY);
    /* an admitted split with more machine torque, at this point's neighbours */
    const double step = 1e-3 * demand;
    for (int k = -1; k <= 1; k += 2) {
      const double p = front_of(&request) + k * step;
      if (p >= 0.0 && p <= demand && judge(p, demand - p).margin > 1e-3 &&
          check.braking_rate > 0.16) {
        const double sum = fmin(front, p) + fmin(rear, demand - p);
        CHECK_WITHIN(request.machine[0] + request.machine[1], sum - 1e-6, (double)INFINITY);
      }
    }
  }
}

/* one pressure for both axles: the rule is kept all the same, and no pair of machine torques on a
 * grid gives more */
static void boundary_with_one_pressure(void **state) {
  (void)state;
  uint64_t seed = 73;
  for (int i = 0; i < 400; i++) {
    const double demand = test_uniform(&seed, 0.16, 0.5) * WEIGHT_TORQUE;
    struct bench bench = bold("rule-boundary", BW_LAYOUT_COMMON);
    const double most[2] = {test_uniform(&seed, 0.0, 3e3), test_uniform(&seed, 0.0, 3e3)};
    const struct bw_blend_input input = driving(demand, 0.0, most[0], most[1]);
    const struct bw_blend_request request = settle(&bench, &input);
    CHECK_WITHIN(judge(front_of(&request), rear_of(&request)).margin, -1e-6, (double)INFINITY);
    CHECK_RELATIVE(total(&request), demand, 1e-12);
    double best = 0.0;
    for (int k = 0; k < 60 * 60; k++) {
      const int row = k / 60;
      const int column = k % 60;
      const double x = most[0] * row / 59.0;
      const double y = most[1] * column / 59.0;
      const double friction = demand - x - y;
      if (friction >= 0.0 && judge(x + 0.72 * friction, y + 0.28 * friction).margin >= 0.0) {
        best = fmax(best, x + y);
      }
    }
    CHECK_WITHIN(request.machine[0] + request.machine[1], best - 1e-6, demand);
  }
}

/* margins and the gentle order only ever take away: any calibration keeps the rule */
static void any_calibration_keeps_the_rule(void **state) {
  (void)state;
  static const char *const names[] = {"rule-boundary", "least-loss", "predictive"};
  uint64_t seed = 74;
  for (size_t s = 0; s < 3; s++) {
    for (int i = 0; i < 1500; i++) {
      struct bench bench = bold(names[s], i % 2 == 0 ? BW_LAYOUT_PER_AXLE : BW_LAYOUT_COMMON);
      set_param(&bench, "margin_percent", test_uniform(&seed, 0.0, 3.0));
      set_param(&bench, "order_ramp_percent", test_uniform(&seed, 0.1, 8.0));
      restart(&bench);
      const double demand = test_uniform(&seed, 0.02, 0.7) * WEIGHT_TORQUE;
      const struct bw_blend_input input =
          driving(demand, 0.0, test_uniform(&seed, 0.0, 4e3), test_uniform(&seed, 0.0, 4e3));
      const struct bw_blend_request request = settle(&bench, &input);
      CHECK_WITHIN(judge(front_of(&request), rear_of(&request)).margin, -1e-6, (double)INFINITY);
    }
  }
}

/* with losses of a real kind; a machine may be gated off */
static struct bench lossy(const char *name) {
  struct bench bench = bold(name, BW_LAYOUT_PER_AXLE);
  const double loss[2][4] = {{160.0, 0.65, 0.0018, 0.24}, {180.0, 0.8, 0.003, 0.15}};
  memcpy(bench.info.machine_loss, loss, sizeof loss);
  bench.info.machine_gates_off[0] = 1;
  restart(&bench);
  return bench;
}

static double sent(const struct bench *bench, double speed, const double torque[2]) {
  const struct bw_blend_info *info = &bench->info;
  double power = 0.0;
  for (int i = 0; i < 2; i++) {
    const double omega = speed / info->tyre_radius * info->machine_ratio[i];
    const double shaft = torque[i] * info->machine_efficiency[i] / info->machine_ratio[i];
    const double *loss = info->machine_loss[i];
    if (torque[i] > 0.0 || info->machine_gates_off[i] == 0) {
      power +=
          shaft * omega - (loss[0] + omega * (loss[1] + omega * loss[2]) + loss[3] * shaft * shaft);
    }
  }
  return power;
}

static void check_none_sends_more(const struct bench *bench, const struct bw_blend_input *input,
                                  double reached, const double torque[2]) {
  const double rest = input->demand_pedal - torque[0] - torque[1];
  const bool is_there = torque[0] <= input->machine_available[0] &&
                        torque[1] <= input->machine_available[1] && rest >= 0.0;
  if (is_there && (judge(torque[0] + rest, torque[1]).margin >= 0.0 ||
                   judge(torque[0], torque[1] + rest).margin >= 0.0)) {
    CHECK_WITHIN(reached, sent(bench, input->speed, torque) - 1e-6, 1e9);
  }
}

/* least-loss: no pair of torques on a grid within the same limits sends more, nor one on a fine
 * grid of splits of the whole demand; with a machine that is gated off, and with none, where mostly
 * both work at equal marginal power */
static void least_loss_is_least(void **state) {
  (void)state;
  uint64_t seed = 75;
  for (int i = 0; i < 400; i++) {
    struct bench bench = lossy("least-loss");
    bench.info.machine_gates_off[0] = i % 2;
    set_param(&bench, "switch_gain_w", 0.0);
    restart(&bench);
    const double demand = test_uniform(&seed, 0.01, 0.09) * WEIGHT_TORQUE; /* rule: k line only */
    struct bw_blend_input input =
        driving(demand, 0.0, test_uniform(&seed, 0.0, 2e3), test_uniform(&seed, 0.0, 2e3));
    input.speed = test_uniform(&seed, 3.5, 40.0);
    const struct bw_blend_request request = settle(&bench, &input);
    const double reached = sent(&bench, input.speed, request.machine);
    for (int k = 0; k < 41 * 41; k++) {
      const int row = k / 41;
      const int column = k % 41;
      const double torque[2] = {input.machine_available[0] * row / 40.0,
                                input.machine_available[1] * column / 40.0};
      check_none_sends_more(&bench, &input, reached, torque);
    }
    for (int k = 0; k <= 1000; k++) {
      const double front = demand * k / 1000.0;
      check_none_sends_more(&bench, &input, reached, (const double[]){front, demand - front});
    }
  }
}

static void least_loss_does_not_alternate(void **state) {
  (void)state;
  struct bench bench = lossy("least-loss");
  struct bw_blend_input input = driving(300.0, 0.0, 2e3, 2e3);
  int changes = 0;
  bool was_on = settle(&bench, &input).machine[0] > 0.0;
  for (int i = 0; i < 4000; i++) {
    /* a demand that trembles by 1 N m while it rises slowly */
    input.demand_pedal = 300.0 + 0.1 * i + (i % 2 == 0 ? 0.5 : -0.5);
    const bool is_on = ask(&bench, &input).machine[0] > 0.0;
    changes += is_on != was_on;
    was_on = is_on;
  }
  assert_true(was_on); /* the front machine joins at last */
  assert_in_range(changes, 1, 2);
}

/* predictive: the minimum of its cost, against a search over a grid of both torques */
static void predictive_finds_the_minimum(void **state) {
  (void)state;
  uint64_t seed = 76;
  for (int i = 0; i < 300; i++) {
    struct bench bench = lossy("predictive");
    for (int k = 0; k < 2; k++) {
      bench.info.friction_dead_time[k] = 0.04;
      bench.info.friction_lag[k] = 0.07;
    }
    const double weight[3] = {test_uniform(&seed, 1e-5, 1e-3), test_uniform(&seed, 0.005, 0.5),
                              test_uniform(&seed, 0.0, 0.1)};
    set_param(&bench, "error_w_per_nm2", weight[0]);
    set_param(&bench, "rate_w_per_nm2", weight[1]);
    set_param(&bench, "balance_w_per_nm2", weight[2]);
    restart(&bench);
    const double demand = test_uniform(&seed, 0.02, 0.09) * WEIGHT_TORQUE;
    const double most[2] = {test_uniform(&seed, 1.0, 2e3), test_uniform(&seed, 1.0, 2e3)};
    const struct bw_blend_input input = driving(demand, 0.0, most[0], most[1]);
    /* first call: nothing was requested before, M' = F' = D' = 0; every other time the second one
     */
    struct bw_blend_request before = {{0.0, 0.0}, {0.0, 0.0}};
    struct bw_blend_request request = ask(&bench, &input);
    if (i % 2 == 1) {
      before = request;
      request = ask(&bench, &input);
    }
    const double friction = before.friction[0] + before.friction[1];
    const double z = demand / WEIGHT_TORQUE;
    const double p = (2.61 - 1.17 + 0.53 * z) / 2.61;
    const double high = fmin(1.0, 0.2 * p / z);
    const double low = fmax(0.0, 1.0 - 0.2 * (1.0 - p) / z);
    double least = (double)INFINITY;
    double cost_of_request = 0.0;
    for (int k = -1; k < 151 * 151; k++) {
      const int row = k / 151;
      const int column = k % 151;
      const double x = k < 0 ? request.machine[0] : fmin(most[0], high * demand) * row / 150.0;
      const double y =
          k < 0 ? request.machine[1] : fmin(most[1], (1.0 - low) * demand) * column / 150.0;
      const double error = 11.0 * (demand - x - y - friction);
      const double rate[2] = {x - before.machine[0], y - before.machine[1]};
      const double skew = (1.0 - p) * x - p * y;
      /* no-load losses are constants of both and drop out */
      const double cost =
          -sent(&bench, 17.0, (const double[]){x + 1e-300, y + 1e-300}) +
          0.5 * (weight[0] * error * error + weight[1] * (rate[0] * rate[0] + rate[1] * rate[1]) +
                 weight[2] * skew * skew);
      if (k < 0) {
        cost_of_request = cost;
      } else if (x + y <= demand && x + y >= before.machine[0] + before.machine[1]) {
        least = fmin(least, cost);
      }
    }
    CHECK_WITHIN(cost_of_request, -1e9, least + 1e-6 * fabs(least));
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(boundary_is_reached_and_kept),
      cmocka_unit_test(boundary_uses_both_machines),
      cmocka_unit_test(boundary_with_one_pressure),
      cmocka_unit_test(any_calibration_keeps_the_rule),
      cmocka_unit_test(least_loss_is_least),
      cmocka_unit_test(least_loss_does_not_alternate),
      cmocka_unit_test(predictive_finds_the_minimum),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
