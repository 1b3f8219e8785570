/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "model/vehicle.h"
#include "strategies/registry.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>

enum { PARAMS_MAX = 8, STATE_MAX = 256 };

/* a strategy at work, with its parameters and memory */
struct bench {
  const struct bw_blend_strategy *strategy;
  struct bw_blend_info info;
  double params[PARAMS_MAX];
  _Alignas(16) unsigned char state[STATE_MAX];
};

/* an invented car with odd numbers: both axles may carry a machine */
static struct bw_blend_info car(enum bw_blend_layout layout) {
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

static void set_param(struct bench *bench, const char *name, double value) {
  for (size_t i = 0; i < bench->strategy->param_count; i++) {
    if (strcmp(bench->strategy->params[i].name, name) == 0) {
      bench->params[i] = value;
      return;
    }
  }
  print_error("no parameter %s\n", name);
  fail();
}

static void restart(struct bench *bench) {
  memset(bench->state, 0, sizeof bench->state);
  if (bench->strategy->start != NULL) {
    bench->strategy->start(bench->state, &bench->info, bench->params);
  }
}

static struct bench bench_of(const char *name, enum bw_blend_layout layout) {
  struct bench bench = {.strategy = bw_strategy_find(name), .info = car(layout)};
  assert_non_null(bench.strategy);
  assert_in_range(bench.strategy->param_count, 0, PARAMS_MAX);
  assert_in_range(bench.strategy->state_size, 0, STATE_MAX);
  for (size_t i = 0; i < bench.strategy->param_count; i++) {
    bench.params[i] = bench.strategy->params[i].fallback;
  }
  restart(&bench);
  return bench;
}

static struct bw_blend_request ask(struct bench *bench, const struct bw_blend_input *input) {
  struct bw_blend_request request = {{(double)NAN, (double)NAN}, {(double)NAN, (double)NAN}};
  bench->strategy->step(bench->state, &bench->info, bench->params, input, &request);
  return request;
}

/* long enough for every rise limit to be through */
static struct bw_blend_request settle(struct bench *bench, const struct bw_blend_input *input) {
  for (int i = 0; i < 200; i++) {
    (void)ask(bench, input);
  }
  return ask(bench, input);
}

static struct bw_blend_input driving(double pedal, double overrun, double front, double rear) {
  return (struct bw_blend_input){.speed = 17.0,
                                 .demand_pedal = pedal,
                                 .demand_overrun = overrun,
                                 .machine_available = {front, rear},
                                 .machine_available_alone = {front, rear},
                                 .axle_load = {8000.0, 7000.0},
                                 .charge_power = 1e6,
                                 .state_of_charge = 0.5};
}

static double total(const struct bw_blend_request *request) {
  return request->machine[0] + request->machine[1] + request->friction[0] + request->friction[1];
}

static void registry_lists_four_in_order(void **state) {
  (void)state;
  static const char *const names[] = {"friction-only", "parallel", "series", "ideal-distribution"};
  assert_int_equal(bw_strategy_count(), 4);
  for (size_t i = 0; i < 4; i++) {
    assert_string_equal(bw_strategy_at(i)->name, names[i]);
    assert_ptr_equal(bw_strategy_find(names[i]), bw_strategy_at(i));
    assert_int_equal(bw_strategy_at(i)->abi, BW_BLEND_ABI);
    assert_int_equal(bw_strategy_at(i)->flags, i == 0 ? BW_BLEND_WITHOUT_MACHINE : 0);
  }
  assert_null(bw_strategy_at(4));
  assert_null(bw_strategy_find("serie"));
}

static bool has_known_suffix(const char *name) {
  static const char *const suffixes[] = {"_kmh", "_percent", "_nm_per_s"};
  const size_t length = strlen(name);
  for (size_t i = 0; i < sizeof suffixes / sizeof suffixes[0]; i++) {
    const size_t tail = strlen(suffixes[i]);
    if (length > tail && strcmp(name + length - tail, suffixes[i]) == 0) {
      return true;
    }
  }
  return false;
}

static void parameter_tables_are_sound(void **state) {
  (void)state;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    const struct bw_blend_strategy *strategy = bw_strategy_at(s);
    assert_true(strlen(strategy->summary) > 10);
    for (size_t i = 0; i < strategy->param_count; i++) {
      const struct bw_blend_param *param = &strategy->params[i];
      assert_true(has_known_suffix(param->name));
      assert_true(strlen(param->help) > 10);
      CHECK_WITHIN(param->fallback, param->min, param->max);
      for (size_t k = 0; k < i; k++) {
        assert_string_not_equal(param->name, strategy->params[k].name);
      }
      for (const char *c = param->name; *c != '\0'; c++) {
        assert_true(islower((unsigned char)*c) || isdigit((unsigned char)*c) || *c == '_');
      }
    }
  }
}

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

static void fade_band_ends_the_machine(void **state) {
  (void)state;
  static const char *const names[] = {"parallel", "series", "ideal-distribution"};
  for (size_t s = 0; s < 3; s++) {
    struct bench bench = bench_of(names[s], BW_LAYOUT_PER_AXLE);
    struct bw_blend_input input = driving(900.0, 0.0, 2100.0, 0.0);
    const double whole = settle(&bench, &input).machine[0];
    assert_true(whole > 300.0);
    input.speed = 9.5 / 3.6; /* half of 12 .. 7 km/h */
    struct bw_blend_request request = settle(&bench, &input);
    CHECK_RELATIVE(request.machine[0], 0.5 * whole, 1e-12);
    CHECK_RELATIVE(total(&request), 900.0, 1e-13);
    input.speed = 11.5 / 3.6;
    CHECK_RELATIVE(settle(&bench, &input).machine[0], 0.9 * whole, 1e-12);
    input.speed = 7.0 / 3.6;
    request = settle(&bench, &input);
    CHECK_CLOSE(request.machine[0], 0.0, 0.0);
    CHECK_RELATIVE(total(&request), 900.0, 1e-13);
    set_param(&bench, "fade_start_kmh", 5.0); /* upside down: a step at the end of the band */
    restart(&bench);
    CHECK_CLOSE(settle(&bench, &input).machine[0], 0.0, 0.0);
    input.speed = 7.1 / 3.6;
    CHECK_RELATIVE(settle(&bench, &input).machine[0], whole, 1e-12);
  }
}

static void rise_is_limited_fall_is_not(void **state) {
  (void)state;
  static const char *const names[] = {"series", "ideal-distribution"};
  for (size_t s = 0; s < 2; s++) {
    struct bench bench = bench_of(names[s], BW_LAYOUT_PER_AXLE);
    set_param(&bench, "rise_nm_per_s", 7000.0);
    restart(&bench);
    struct bw_blend_input input = driving(900.0, 0.0, 2100.0, 0.0);
    for (int i = 1; i <= 5; i++) {
      const struct bw_blend_request request = ask(&bench, &input);
      CHECK_RELATIVE(request.machine[0], 70.0 * i, 1e-12);
      CHECK_RELATIVE(total(&request), 900.0, 1e-13);
    }
    input.machine_available[0] = 100.0;
    CHECK_CLOSE(ask(&bench, &input).machine[0], 100.0, 0.0);
    input.machine_available[0] = 2100.0;
    CHECK_RELATIVE(ask(&bench, &input).machine[0], 170.0, 1e-12);
    input.demand_pedal = 0.0;
    CHECK_CLOSE(ask(&bench, &input).machine[0], 0.0, 0.0);
  }
}

static void coupled_pedal_keeps_its_floor(void **state) {
  (void)state;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct bench bench = bench_of(bw_strategy_at(s)->name, BW_LAYOUT_PEDAL_COUPLED);
    const struct bw_blend_input input = driving(1430.0, 0.0, 2100.0, 1500.0);
    const struct bw_blend_request request = settle(&bench, &input);
    const double friction = request.friction[0] + request.friction[1];
    CHECK_WITHIN(friction, 1430.0 / 1.43 * (1.0 - 1e-12), 1430.0 * (1.0 + 1e-12));
    CHECK_RELATIVE(total(&request), 1430.0, 1e-12);
  }
}

static void full_axle_is_helped_by_the_other(void **state) {
  (void)state;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct bench bench = bench_of(bw_strategy_at(s)->name, BW_LAYOUT_PER_AXLE);
    bench.info.friction_torque_max[0] = 1000.0;
    restart(&bench);
    struct bw_blend_input input = driving(3100.0, 0.0, 0.0, 0.0);
    struct bw_blend_request request = settle(&bench, &input);
    CHECK_CLOSE(request.friction[0], 1000.0, 1e-9);
    CHECK_CLOSE(request.friction[1], 2100.0, 1e-9);
    input.demand_pedal = 9000.0; /* more than both can: both at their limit */
    request = settle(&bench, &input);
    CHECK_CLOSE(request.friction[0], 1000.0, 1e-9);
    CHECK_CLOSE(request.friction[1], 2300.0, 1e-9);
    /* one pressure for both: the front at its limit stops the rear in proportion */
    bench.info.layout = BW_LAYOUT_COMMON;
    restart(&bench);
    request = settle(&bench, &input);
    CHECK_CLOSE(request.friction[0], 1000.0, 1e-9);
    CHECK_RELATIVE(request.friction[1], 1000.0 * 1.9 / 3.7, 1e-12);
  }
}

static void randomise(struct bench *bench, uint64_t *seed) {
  for (size_t i = 0; i < bench->strategy->param_count; i++) {
    const struct bw_blend_param *param = &bench->strategy->params[i];
    bench->params[i] = test_uniform(seed, 0.0, 1.0) < 0.5
                           ? param->fallback
                           : test_uniform(seed, param->min, param->max);
    if (strcmp(param->name, "fill_percent") == 0) {
      bench->params[i] = 100.0;
    }
  }
  bench->info.layout = (enum bw_blend_layout)(int)test_uniform(seed, 0.0, 3.0);
  bench->info.parallel_ratio = test_uniform(seed, 0.0, 2.0);
  bench->info.friction_per_pressure[0] = test_uniform(seed, 0.0, 5e-4);
  bench->info.friction_per_pressure[1] = test_uniform(seed, 0.0, 5e-4);
  restart(bench);
}

static double sometimes_zero(uint64_t *seed, double high) {
  const double x = test_uniform(seed, -0.3 * high, high);
  return x > 0.0 ? x : 0.0;
}

static void check_sound(struct bench *bench, const struct bw_blend_input *input,
                        const struct bw_blend_request *request, size_t *kept) {
  const double demand = input->demand_pedal + input->demand_overrun;
  double friction = 0.0;
  bool is_full = false;
  for (size_t k = 0; k < 2; k++) {
    const double most = bench->info.friction_torque_max[k];
    CHECK_WITHIN(request->machine[k], 0.0, input->machine_available[k]);
    CHECK_WITHIN(request->friction[k], 0.0, most * (1.0 + 1e-14));
    friction += request->friction[k];
    is_full = is_full || request->friction[k] > most * (1.0 - 1e-12);
  }
  const bool is_one_pressure = bench->info.layout != BW_LAYOUT_PER_AXLE;
  if (is_one_pressure && friction > 1e-6) {
    CHECK_CLOSE(request->friction[0] * bench->info.friction_per_pressure[1],
                request->friction[1] * bench->info.friction_per_pressure[0], 1e-10);
  }
  CHECK_WITHIN(total(request), 0.0, demand * (1.0 + 1e-12));
  /* only friction at its limit excuses a missing torque */
  if (!is_full) {
    CHECK_CLOSE(total(request), demand, 1e-9 * demand);
    (*kept)++;
  }
}

/* property: finite, not negative, within what is available, together the demand */
static void random_inputs_give_sound_requests(void **state) {
  (void)state;
  uint64_t seed = 20240229;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct bench bench = bench_of(bw_strategy_at(s)->name, BW_LAYOUT_PER_AXLE);
    size_t kept = 0;
    for (int i = 0; i < 60000; i++) {
      if (i % 50 == 0) {
        randomise(&bench, &seed);
      }
      struct bw_blend_input input =
          driving(sometimes_zero(&seed, 6000.0), sometimes_zero(&seed, 900.0),
                  sometimes_zero(&seed, 2500.0), sometimes_zero(&seed, 2500.0));
      input.speed = sometimes_zero(&seed, 40.0);
      const struct bw_blend_request request = ask(&bench, &input);
      check_sound(&bench, &input, &request, &kept);
      if (bench.strategy->flags == BW_BLEND_WITHOUT_MACHINE) {
        CHECK_CLOSE(request.machine[0] + request.machine[1], 0.0, 0.0);
      }
    }
    assert_in_range(kept, 30000, 60000);
  }
}

/* all memory is in the state: a copy of it goes on in the same way */
static void state_holds_all_memory(void **state) {
  (void)state;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct bench one = bench_of(bw_strategy_at(s)->name, BW_LAYOUT_PER_AXLE);
    const struct bw_blend_input input = driving(1700.0, 100.0, 1500.0, 200.0);
    (void)ask(&one, &input);
    struct bench copy = one;
    struct bench other = bench_of(bw_strategy_at(s)->name, BW_LAYOUT_COMMON);
    (void)settle(&other, &input);
    for (int i = 0; i < 5; i++) {
      const struct bw_blend_request a = ask(&one, &input);
      const struct bw_blend_request b = ask(&copy, &input);
      assert_memory_equal(&a, &b, sizeof a);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(registry_lists_four_in_order),
      cmocka_unit_test(parameter_tables_are_sound),
      cmocka_unit_test(friction_only_uses_no_machine),
      cmocka_unit_test(parallel_keeps_its_ratio),
      cmocka_unit_test(series_takes_the_machine_first),
      cmocka_unit_test(ideal_distribution_uses_equal_grip),
      cmocka_unit_test(fade_band_ends_the_machine),
      cmocka_unit_test(rise_is_limited_fall_is_not),
      cmocka_unit_test(coupled_pedal_keeps_its_floor),
      cmocka_unit_test(full_axle_is_helped_by_the_other),
      cmocka_unit_test(random_inputs_give_sound_requests),
      cmocka_unit_test(state_holds_all_memory),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
