/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "strategy_bench.h"

#include <ctype.h>
#include <stdbool.h>

/** What holds for every built-in strategy: the registry, the parameter tables, sound requests from
 *  any input in any plumbing, memory in the state alone. */

static void registry_lists_all_in_order(void **state) {
  (void)state;
  static const char *const names[] = {
      "friction-only", "parallel",    "series",     "ideal-distribution",
      "rule-boundary", "share-table", "graded",     "lag-compensated",
      "speed-band",    "grip-cap",    "least-loss", "predictive"};
  const size_t count = sizeof names / sizeof names[0];
  assert_int_equal(bw_strategy_count(), count);
  for (size_t i = 0; i < count; i++) {
    assert_string_equal(bw_strategy_at(i)->name, names[i]);
    assert_ptr_equal(bw_strategy_find(names[i]), bw_strategy_at(i));
    assert_int_equal(bw_strategy_at(i)->abi, BW_BLEND_ABI);
    assert_int_equal(bw_strategy_at(i)->flags, i == 0 ? BW_BLEND_WITHOUT_MACHINE : 0);
  }
  assert_null(bw_strategy_at(count));
  assert_null(bw_strategy_find("serie"));
}

static bool has_known_suffix(const char *name) {
  static const char *const suffixes[] = {"_kmh", "_percent", "_nm_per_s", "_mps2",
                                         "_ms",  "_w",       "_w_per_nm2"};
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

/* what holds for any answer; true when no friction brake is at its limit */
static bool check_possible(const struct bench *bench, const struct bw_blend_input *input,
                           const struct bw_blend_request *request) {
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
  return !is_full;
}

static void check_sum(const struct bw_blend_input *input, const struct bw_blend_request *request,
                      bool has_room) {
  const double demand = input->demand_pedal + input->demand_overrun;
  CHECK_WITHIN(total(request), 0.0, demand * (1.0 + 1e-12));
  /* only friction at its limit excuses a missing torque */
  if (has_room) {
    CHECK_CLOSE(total(request), demand, 1e-9 * demand);
  }
}

static struct bw_blend_input any_input(uint64_t *seed) {
  struct bw_blend_input input = driving(sometimes_zero(seed, 6000.0), sometimes_zero(seed, 900.0),
                                        sometimes_zero(seed, 2500.0), sometimes_zero(seed, 2500.0));
  input.speed = sometimes_zero(seed, 40.0);
  input.state_of_charge = test_uniform(seed, 0.0, 1.0);
  for (size_t k = 0; k < 2; k++) {
    input.axle_load[k] = test_uniform(seed, 0.0, 12000.0);
    input.slip[k] = test_uniform(seed, -0.02, 0.2);
  }
  return input;
}

/* property: finite, not negative, within what is available, together the demand. The requests of
 * lag-compensated lead and mend and so sum to the demand only when nothing moves. */
static void random_inputs_give_sound_requests(void **state) {
  (void)state;
  uint64_t seed = 20240229;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    struct bench bench = bench_of(bw_strategy_at(s)->name, BW_LAYOUT_PER_AXLE);
    const bool is_led = strcmp(bench.strategy->name, "lag-compensated") == 0;
    size_t kept = 0;
    for (int i = 0; i < 60000; i++) {
      if (i % 50 == 0) {
        randomise(&bench, &seed);
      }
      struct bw_blend_input input = any_input(&seed);
      if (i % 50 == 49) { /* at rest: the sum holds for everybody */
        const struct bw_blend_request calm = settle(&bench, &input);
        check_sum(&input, &calm, check_possible(&bench, &input, &calm));
        continue;
      }
      input.deceleration = test_uniform(&seed, -3.0, 9.0);
      input.friction_estimate[0] = sometimes_zero(&seed, 2000.0);
      input.friction_estimate[1] = sometimes_zero(&seed, 2000.0);
      const struct bw_blend_request request = ask(&bench, &input);
      const bool has_room = check_possible(&bench, &input, &request);
      if (!is_led) {
        check_sum(&input, &request, has_room);
      }
      kept += has_room ? 1 : 0;
      if (bench.strategy->flags == BW_BLEND_WITHOUT_MACHINE) {
        CHECK_CLOSE(request.machine[0] + request.machine[1], 0.0, 0.0);
      }
    }
    assert_in_range(kept, 30000, 60000);
  }
}

/* without a machine every strategy is friction-only: the same torque at any moment, and with one
 * pressure the same at each axle */
static void without_machine_all_are_friction_only(void **state) {
  (void)state;
  uint64_t seed = 311;
  for (size_t s = 0; s < bw_strategy_count(); s++) {
    for (int i = 0; i < 300; i++) {
      const enum bw_blend_layout layout = (enum bw_blend_layout)(i % 3);
      struct bench plain = bench_of("friction-only", layout);
      struct bench other = bench_of(bw_strategy_at(s)->name, layout);
      other.info.machine_torque_peak[0] = 0.0;
      restart(&other);
      struct bw_blend_input input = any_input(&seed);
      input.deceleration = test_uniform(&seed, -1.0, 9.0);
      input.machine_available[0] = input.machine_available[1] = 0.0;
      const struct bw_blend_request wanted = ask(&plain, &input);
      const struct bw_blend_request got = ask(&other, &input);
      if (layout == BW_LAYOUT_PER_AXLE) {
        CHECK_CLOSE(total(&got), total(&wanted), 1e-9);
      } else {
        CHECK_CLOSE(got.friction[0], wanted.friction[0], 1e-9);
        CHECK_CLOSE(got.friction[1], wanted.friction[1], 1e-9);
      }
    }
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
      cmocka_unit_test(registry_lists_all_in_order),
      cmocka_unit_test(parameter_tables_are_sound),
      cmocka_unit_test(fade_band_ends_the_machine),
      cmocka_unit_test(rise_is_limited_fall_is_not),
      cmocka_unit_test(coupled_pedal_keeps_its_floor),
      cmocka_unit_test(full_axle_is_helped_by_the_other),
      cmocka_unit_test(random_inputs_give_sound_requests),
      cmocka_unit_test(without_machine_all_are_friction_only),
      cmocka_unit_test(state_holds_all_memory),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
