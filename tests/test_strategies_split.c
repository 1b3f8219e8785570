/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "strategy_bench.h"

#include "model/vehicle.h"

/** The property that defines each strategy, asked of its step function alone: who brakes how much.
 *  The rule's strategies are in test_strategies_rule.c, hand-overs in test_strategies_run.c. */

/* friction-only: no machine, and the axles in the proportion of their torque per pressure */
static void friction_only_uses_no_machine(void **state) {
  (void)state;
  struct bench bench = bench_of("friction-only", BW_LAYOUT_PER_AXLE);
  const struct bw_blend_input input = driving(1730.0, 0.0, 2100.0, 900.0);
  const struct bw_blend_request request = settle(&bench, &input);
  CHECK_CLOSE(request.machine[0] + request.machine[1], 0.0, 0.0);
  CHECK_RELATIVE(request.friction[0], 1730.0 * 3.7 / 5.6, 1e-13);
  CHECK_RELATIVE(request.friction[1], 1730.0 * 1.9 / 5.6, 1e-13);
}

/* parallel: machine 40 % of the pedal and all of the overrun, friction the rest */
static void parallel_keeps_its_ratio(void **state) {
  (void)state;
  struct bench bench = bench_of("parallel", BW_LAYOUT_PER_AXLE);
  struct bw_blend_input input = driving(1730.0, 0.0, 2100.0, 0.0);
  struct bw_blend_request request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 0.4 * 1730.0, 1e-13);
  CHECK_RELATIVE(request.friction[0] + request.friction[1], 0.6 * 1730.0, 1e-13);
  CHECK_RELATIVE(request.friction[0] / request.friction[1], 3.7 / 1.9, 1e-13);
  input.demand_overrun = 310.0;
  request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 0.4 * 1730.0 + 310.0, 1e-13);
  input.machine_available[0] = 500.0; /* short by 502 N m: friction makes it up */
  request = settle(&bench, &input);
  CHECK_CLOSE(request.machine[0], 500.0, 0.0);
  CHECK_RELATIVE(request.friction[0] + request.friction[1], 1540.0, 1e-13);
  set_param(&bench, "fill_percent", 0.0); /* or does not */
  restart(&bench);
  request = settle(&bench, &input);
  CHECK_RELATIVE(request.friction[0] + request.friction[1], 0.6 * 1730.0, 1e-13);
}

/* parallel with a coupled pedal: the floor D / (1 + rho) cannot be removed, however large a share
 * is meant for the machine; decoupled plumbing has no floor (definition of the layouts) */
static void parallel_meets_the_pedal_floor(void **state) {
  (void)state;
  for (int decoupled = 0; decoupled < 2; decoupled++) {
    struct bench bench =
        bench_of("parallel", decoupled ? BW_LAYOUT_COMMON : BW_LAYOUT_PEDAL_COUPLED);
    set_param(&bench, "machine_share_percent", 80.0);
    restart(&bench);
    const struct bw_blend_input input = driving(1430.0, 200.0, 2100.0, 0.0);
    const struct bw_blend_request request = settle(&bench, &input);
    const double most = decoupled ? 0.8 * 1430.0 : 1430.0 * 0.43 / 1.43;
    CHECK_RELATIVE(request.machine[0], 200.0 + most, 1e-12);
    CHECK_RELATIVE(total(&request), 1630.0, 1e-12);
    CHECK_RELATIVE(request.friction[0] / request.friction[1], 3.7 / 1.9, 1e-12);
    /* at the nominal share the floor does not bind: both plumbings are the same */
    set_param(&bench, "machine_share_percent", 25.0);
    restart(&bench);
    CHECK_RELATIVE(settle(&bench, &input).machine[0], 200.0 + 0.25 * 1430.0, 1e-12);
  }
}

/* series: the machine alone up to what is available */
static void series_takes_the_machine_first(void **state) {
  (void)state;
  struct bench bench = bench_of("series", BW_LAYOUT_PER_AXLE);
  struct bw_blend_input input = driving(1430.0, 300.0, 2100.0, 0.0);
  struct bw_blend_request request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 1730.0, 1e-13);
  CHECK_CLOSE(request.friction[0] + request.friction[1], 0.0, 0.0);
  input.machine_available[0] = 1110.0;
  request = settle(&bench, &input);
  CHECK_CLOSE(request.machine[0], 1110.0, 0.0);
  CHECK_RELATIVE(request.friction[0] + request.friction[1], 620.0, 1e-13);
  input = driving(1430.0, 300.0, 2000.0, 1000.0); /* two machines: as they are able */
  request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 2.0 * request.machine[1], 1e-13);
  CHECK_RELATIVE(request.machine[0] + request.machine[1], 1730.0, 1e-13);
  set_param(&bench, "share_max_percent", 70.0);
  restart(&bench);
  request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0] + request.machine[1], 0.7 * 1730.0, 1e-13);
}

/* both axles use the same grip f_i = F_i / N_i = z, with the plant's own axle loads, as long as
 * friction can fill (definition of the ideal distribution, derived) */
static void ideal_distribution_uses_equal_grip(void **state) {
  (void)state;
  struct bench bench = bench_of("ideal-distribution", BW_LAYOUT_PER_AXLE);
  const struct bw_vehicle vehicle = {
      .load = {{.mass = 1537.0, .cg_to_front = 1.17, .cg_height = 0.53}}, .wheelbase = 2.61};
  uint64_t seed = 17;
  for (int i = 0; i < 3000; i++) {
    const double z = test_uniform(&seed, 0.02, 0.9);
    const double demand = z * 1537.0 * BW_GRAVITY * 0.311;
    const struct bw_blend_input input =
        driving(demand, 0.0, test_uniform(&seed, 0.0, 2100.0), test_uniform(&seed, 0.0, 900.0));
    restart(&bench);
    const struct bw_blend_request request = settle(&bench, &input);
    double load[2];
    bw_vehicle_axle_loads(&vehicle, 0.0, z * BW_GRAVITY, load);
    for (size_t k = 0; k < 2; k++) {
      const double force = (request.machine[k] + request.friction[k]) / 0.311;
      CHECK_RELATIVE(force / load[k], z, 1e-12);
      /* machine first on its axle: friction only where the machine is at its limit */
      const double spare = input.machine_available[k] - request.machine[k];
      CHECK_CLOSE(request.friction[k] * (spare > 0.0 ? 1.0 : 0.0), 0.0, 1e-9);
    }
  }
}

/* graded: machine alone, both, friction alone by demanded deceleration, straight ramps between */
static void graded_follows_the_braking_rate(void **state) {
  (void)state;
  static const struct {
    double deceleration;
    double share;
  } wanted[] = {{0.7, 1.0}, {1.5, 1.0}, {2.0, 0.8}, {2.5, 0.6}, {4.0, 0.6},
                {5.0, 0.6}, {5.5, 0.3}, {6.0, 0.0}, {8.0, 0.0}};
  for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
    struct bench bench = bench_of("graded", BW_LAYOUT_PER_AXLE);
    const double demand = wanted[i].deceleration * 1537.0 * 0.311;
    const struct bw_blend_input input = driving(demand, 0.0, 9000.0, 0.0);
    const struct bw_blend_request request = settle(&bench, &input);
    CHECK_CLOSE(request.machine[0], wanted[i].share * demand, 1e-9 * demand);
    CHECK_RELATIVE(total(&request), demand, 1e-12);
  }
}

/* a table whose value is a product of straight lines is met exactly everywhere by straight lines
 * between its points; outside the edge holds */
static void share_table_reads_its_table(void **state) {
  (void)state;
  static const double speed[] = {0.0, 11.0, 40.0};
  static const double deceleration[] = {0.0, 3.0};
  static const double charge[] = {10.0, 50.0, 80.0, 95.0};
  double share[24];
  for (size_t i = 0; i < 24; i++) {
    share[i] = (speed[i / 8] / 50.0) * (1.0 - deceleration[i / 4 % 2] / 6.0) *
               (1.0 - charge[i % 4] / 200.0);
  }
  const struct bw_blend_table tables[] = {
      {.name = "somebody-else.table", .axes = 1, .count = {1, 1, 1}},
      {.name = "share-table.table",
       .axes = 3,
       .count = {3, 2, 4},
       .axis = {speed, deceleration, charge},
       .values = share},
  };
  struct bench bench = bench_of("share-table", BW_LAYOUT_PER_AXLE);
  bench.info.table_count = 2;
  bench.info.tables = tables;
  set_param(&bench, "front_share_percent", 70.0);
  restart(&bench);
  uint64_t seed = 5;
  for (int i = 0; i < 2000; i++) {
    const double v = test_uniform(&seed, -5.0, 55.0);
    const double a = test_uniform(&seed, 0.0, 4.0);
    const double q = test_uniform(&seed, 0.0, 100.0);
    const double demand = a * 1537.0 * 0.311;
    struct bw_blend_input input = driving(demand, 0.0, 9000.0, 9000.0);
    input.speed = v / 3.6;
    input.state_of_charge = q / 100.0;
    const double wanted = fmin(fmax(v, 0.0), 40.0) / 50.0 * (1.0 - fmin(a, 3.0) / 6.0) *
                          (1.0 - fmin(fmax(q, 10.0), 95.0) / 200.0);
    restart(&bench);
    const struct bw_blend_request request = settle(&bench, &input);
    CHECK_CLOSE(request.machine[0], 0.7 * wanted * demand, 1e-10 * demand);
    CHECK_CLOSE(request.machine[1], 0.3 * wanted * demand, 1e-10 * demand);
    CHECK_CLOSE(request.machine[0] + request.friction[0], 0.7 * demand, 1e-10 * demand);
  }
}

/* without a table the built-in one: whole share in gentle braking, none at walking pace */
static void share_table_has_a_table_of_its_own(void **state) {
  (void)state;
  struct bench bench = bench_of("share-table", BW_LAYOUT_PER_AXLE);
  struct bw_blend_input input = driving(700.0, 0.0, 2100.0, 0.0);
  struct bw_blend_request request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 700.0 * 3.7 / 5.6, 1e-12); /* all of the front's part */
  CHECK_RELATIVE(request.friction[1], 700.0 * 1.9 / 5.6, 1e-12);
  input.speed = 1.5;
  CHECK_CLOSE(settle(&bench, &input).machine[0], 0.0, 0.0);
}

/* grip-cap: no machine asks more of its axle than the adhesion believed, less the margin, at the
 * load it carries now, and slip takes it back */
static void grip_cap_keeps_the_grip(void **state) {
  (void)state;
  struct bench bench = bench_of("grip-cap", BW_LAYOUT_PER_AXLE);
  set_param(&bench, "adhesion_percent", 30.0);
  set_param(&bench, "margin_percent", 5.0);
  set_param(&bench, "slip_start_percent", 4.0);
  set_param(&bench, "slip_end_percent", 8.0);
  restart(&bench);
  struct bw_blend_input input = driving(3000.0, 0.0, 2100.0, 2100.0);
  struct bw_blend_request request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 0.25 * 8000.0 * 0.311, 1e-12);
  CHECK_RELATIVE(request.machine[1], 0.25 * 7000.0 * 0.311, 1e-12);
  input.slip[1] = 0.07;
  request = settle(&bench, &input);
  CHECK_RELATIVE(request.machine[0], 0.25 * 8000.0 * 0.311, 1e-12);
  CHECK_RELATIVE(request.machine[1], 0.25 * 0.25 * 7000.0 * 0.311, 1e-12);
  input.slip[0] = 0.081;
  CHECK_CLOSE(settle(&bench, &input).machine[0], 0.0, 0.0);
  CHECK_RELATIVE(total(&request), 3000.0, 1e-12);
  /* after the slip is over the torque comes back at the rise limit, 200 N m a period */
  input.slip[0] = 0.0;
  CHECK_CLOSE(ask(&bench, &input).machine[0], 200.0, 1e-9);
  CHECK_CLOSE(ask(&bench, &input).machine[0], 400.0, 1e-9);
}

/* speed-band: a fade over the band a_D a (tau + theta) / a_dip above its low end, a the greater of
 * a_D and the measured deceleration (HO-4, derived); and torque given back of its own accord no
 * faster than the peak law admits, R = a_dip m r / (tau + theta) (HO-2, derived) */
static void speed_band_follows_the_law(void **state) {
  (void)state;
  struct bench bench = bench_of("speed-band", BW_LAYOUT_PER_AXLE);
  for (size_t k = 0; k < 2; k++) {
    bench.info.friction_dead_time[k] = 0.03;
    bench.info.friction_lag[k] = 0.08;
  }
  set_param(&bench, "felt_percent", 50.0);
  set_param(&bench, "fade_end_kmh", 5.4);
  restart(&bench);
  const double inertia = 1537.0 * 0.311;
  const double dip = 0.5 * 0.147;
  for (int i = 0; i < 2; i++) {
    struct bw_blend_input input = driving(1.6 * inertia, 0.0, 2100.0, 0.0);
    input.deceleration = i == 0 ? 0.4 : 2.3;
    const double slowing = i == 0 ? 1.6 : 2.3;
    const double band = 1.6 * slowing * 0.11 / dip;
    input.speed = 1.5 + 1.001 * band;
    CHECK_RELATIVE(settle(&bench, &input).machine[0], 1.6 * inertia, 1e-12);
    input.speed = 1.5 + 0.4 * band;
    CHECK_RELATIVE(settle(&bench, &input).machine[0], 0.4 * 1.6 * inertia, 1e-9);
    /* an exchange that begins late goes on at the rate of the law */
    input.speed = 1.5 + 1.001 * band;
    const double before = settle(&bench, &input).machine[0];
    input.speed = 1.4;
    const double step = dip * inertia / 0.11 * 0.01;
    for (int k = 1; k <= 5; k++) {
      CHECK_RELATIVE(ask(&bench, &input).machine[0], before - k * step, 1e-9);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(friction_only_uses_no_machine),
      cmocka_unit_test(parallel_keeps_its_ratio),
      cmocka_unit_test(parallel_meets_the_pedal_floor),
      cmocka_unit_test(series_takes_the_machine_first),
      cmocka_unit_test(ideal_distribution_uses_equal_grip),
      cmocka_unit_test(graded_follows_the_braking_rate),
      cmocka_unit_test(share_table_reads_its_table),
      cmocka_unit_test(share_table_has_a_table_of_its_own),
      cmocka_unit_test(grip_cap_keeps_the_grip),
      cmocka_unit_test(speed_band_follows_the_law),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
