/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Controllers loaded at run time: the same figures as code that is built in, and a defect of theirs
 * is one message and nothing else. */

#include "check.h"

#include "alloc.h"
#include "batch/evaluate_contained.h"
#include "batch/plugin.h"
#include "input/param.h"
#include "strategies/registry.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

/* a stop from 100 km/h takes about 4 s: rows at 10 ms */
static const char *const CASE = "cases/stop-100.cfg";

static const struct bw_containment QUICK = {.deadline = 20.0};

static struct bw_plugin *load(const char *path) {
  struct bw_plugin *plugin = NULL;
  struct bw_diag diag = {0};
  if (bw_plugin_load(path, &QUICK, &plugin, &diag) != BW_OK) {
    print_error("%s\n", diag.line[0]);
  }
  assert_non_null(plugin);
  return plugin;
}

static struct bw_case *load_case(const struct bw_plugin *plugin, const char *first,
                                 const char *second) {
  const struct bw_blend_strategy *strategies[] = {bw_plugin_strategy(plugin)};
  const struct bw_extra_strategies extra = {1, strategies};
  const struct bw_override overrides[] = {{first}, {second}};
  const size_t count = first == NULL ? 0 : second == NULL ? 1 : 2;
  const struct bw_case_source source = {CASE, "cases", count, overrides};
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  if (bw_case_load_with(&source, &extra, &loaded, &diag) != BW_OK) {
    print_error("%s\n", diag.line[0]);
  }
  assert_non_null(loaded);
  return loaded;
}

/* all but the bytes that nobody writes, between the cause and what follows */
static void check_same_handover(const struct bw_handover *a, const struct bw_handover *b) {
  const size_t rest = offsetof(struct bw_handover, dip_peak);
  assert_memory_equal(a, b, offsetof(struct bw_handover, cause));
  assert_int_equal(a->cause, b->cause);
  assert_memory_equal(&a->dip_peak, &b->dip_peak, sizeof *a - rest);
}

static void check_same(const struct bw_evaluation *a, const struct bw_evaluation *b) {
  assert_memory_equal(a->summary.value, b->summary.value, sizeof a->summary.value);
  assert_int_equal(a->summary.verdict, b->summary.verdict);
  assert_memory_equal(&a->ledger, &b->ledger, sizeof a->ledger);
  assert_int_equal(a->event_count, b->event_count);
  assert_true(a->event_count > 0);
  assert_memory_equal(a->events, b->events, a->event_count * sizeof *a->events);
  assert_int_equal(a->handover_count, b->handover_count);
  for (size_t i = 0; i < a->handover_count; i++) {
    check_same_handover(&a->handovers[i], &b->handovers[i]);
  }
}

static void loaded_code_gives_the_bytes_of_built_in_code(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_TWIN);
  struct bw_case *loaded =
      load_case(plugin, "strategy.twin.fade_start_kmh=23.7", "strategy.series.fade_start_kmh=23.7");
  struct bw_evaluation twin;
  struct bw_evaluation built_in;
  struct bw_diag diag = {0};
  assert_int_equal(bw_evaluate_contained(loaded, plugin, &QUICK, NULL, &twin, &diag), BW_OK);
  assert_int_equal(bw_evaluate(loaded, bw_strategy_find("series"), NULL, &built_in, &diag), BW_OK);
  assert_string_equal(twin.summary.strategy, "twin");
  assert_true(twin.handover_count > 0);
  check_same(&twin, &built_in);
  bw_evaluation_free(&twin);
  bw_evaluation_free(&built_in);
  bw_case_destroy(loaded);
  bw_plugin_unload(plugin);
}

/* a loaded controller is told the plant's loss map: with the van's it works as the built-in
 * strategy that reads it, without one it refuses */
static void loaded_controller_sees_the_loss_map(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_MAPPED);
  const struct bw_blend_strategy *strategies[] = {bw_plugin_strategy(plugin)};
  const struct bw_extra_strategies extra = {1, strategies};
  const struct bw_case_source source = {"cases/van-nycc.cfg", "cases", 0, NULL};
  struct bw_case *van = NULL;
  struct bw_diag diag = {0};
  assert_int_equal(bw_case_load_with(&source, &extra, &van, &diag), BW_OK);
  struct bw_evaluation mapped;
  struct bw_evaluation built_in;
  assert_int_equal(bw_evaluate_contained(van, plugin, &QUICK, NULL, &mapped, &diag), BW_OK);
  assert_int_equal(bw_evaluate(van, bw_strategy_find("least-loss"), NULL, &built_in, &diag), BW_OK);
  check_same(&mapped, &built_in);
  bw_evaluation_free(&mapped);
  bw_evaluation_free(&built_in);
  bw_case_destroy(van);
  struct bw_case *without = load_case(plugin, NULL, NULL);
  assert_int_not_equal(bw_evaluate_contained(without, plugin, &QUICK, NULL, &mapped, &diag), BW_OK);
  bw_case_destroy(without);
  bw_plugin_unload(plugin);
}

static void parameters_are_those_of_the_table(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_TWIN);
  const struct bw_blend_strategy *copy = bw_plugin_strategy(plugin);
  const struct bw_blend_strategy *series = bw_strategy_find("series");
  assert_string_equal(copy->name, "twin");
  assert_int_equal(copy->param_count, series->param_count);
  for (size_t i = 0; i < series->param_count; i++) {
    assert_string_equal(copy->params[i].name, series->params[i].name);
    assert_string_equal(copy->params[i].help, series->params[i].help);
    CHECK_CLOSE(copy->params[i].min, series->params[i].min, 0.0);
    CHECK_CLOSE(copy->params[i].max, series->params[i].max, 0.0);
    CHECK_CLOSE(copy->params[i].fallback, series->params[i].fallback, 0.0);
  }
  struct bw_case *loaded = load_case(plugin, "strategy.twin.fade_end_kmh=5.3", NULL);
  double values[8] = {0};
  bw_case_strategy_params(loaded, copy, values);
  CHECK_CLOSE(values[1], 5.3, 0.0);
  assert_ptr_equal(bw_param_strategy(bw_case_params(loaded), "twin"), copy);
  assert_non_null(bw_param_find(bw_case_params(loaded), "strategy.twin.rise_nm_per_s"));
  bw_case_destroy(loaded);
  bw_plugin_unload(plugin);
}

static void static_memory_starts_anew_in_every_run(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_FAULTY);
  struct bw_case *loaded = load_case(plugin, NULL, NULL);
  struct bw_evaluation first;
  struct bw_evaluation second;
  assert_int_equal(bw_evaluate_contained(loaded, plugin, &QUICK, NULL, &first, NULL), BW_OK);
  assert_int_equal(bw_evaluate_contained(loaded, plugin, &QUICK, NULL, &second, NULL), BW_OK);
  /* the controller changes its mind at its 401st step, counted in a static variable */
  CHECK_WITHIN(first.summary.value[BW_SUMMARY_DURATION], 4.1, 60.0);
  check_same(&first, &second);
  bw_evaluation_free(&first);
  bw_evaluation_free(&second);
  bw_case_destroy(loaded);
  bw_plugin_unload(plugin);
}

static double seconds(void) {
  struct timespec now = {0};
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void every_defect_is_one_message(void **state) {
  (void)state;
  static const struct {
    const char *fault;
    const char *what;
  } defects[] = {
      {"1", "crashed (a wrong memory access, SIGSEGV) in step at 1.23 s of the run; last inputs: "},
      {"2", "crashed (a call of abort, SIGABRT) in step at 1.23 s of the run; last inputs: "},
      {"3", "was not done after 0.4 s of wall time and was stopped in step at 1.23 s of the run; "},
      {"4", "step asked the friction brake of the rear axle for a torque that is not a finite "
            "number (nan), at 1.23 s of the run; last inputs: "},
      {"5", "step asked the machine of the front axle for -2.5e+06 N m, which is beyond reason "
            "(1e+06 N m), at 1.23 s of the run; last inputs: "},
      {"6", "ended the process by itself, with status 7 in step at 1.23 s of the run; last "},
      {"7", "step asked the friction brake of the rear axle for a torque that is not a finite "},
      {"8", "ended the process by itself, with status 1 after its step at "},
  };
  struct bw_plugin *plugin = load(CONTROLLER_FAULTY);
  for (size_t i = 0; i < sizeof defects / sizeof defects[0]; i++) {
    char fault[64];
    (void)snprintf(fault, sizeof fault, "strategy.faulty.fault=%s", defects[i].fault);
    struct bw_case *loaded = load_case(plugin, fault, "strategy.faulty.from_s=1.226");
    const struct bw_containment containment = {.deadline = i == 2 ? 0.4 : 20.0};
    struct bw_evaluation evaluation;
    struct bw_diag diag = {0};
    const double start = seconds();
    assert_int_equal(bw_evaluate_contained(loaded, plugin, &containment, NULL, &evaluation, &diag),
                     BW_E_NUMERIC);
    CHECK_WITHIN(seconds() - start, 0.0, 15.0);
    assert_int_equal(diag.count, 1);
    if (strstr(diag.line[0], defects[i].what) == NULL) {
      print_error("'%s'\nis not in '%s'\n", defects[i].what, diag.line[0]);
      fail();
    }
    assert_non_null(strstr(diag.line[0], "speed "));
    assert_non_null(strstr(diag.line[0], " %"));
    assert_int_equal(evaluation.event_count, 0);
    assert_null(evaluation.events);
    bw_case_destroy(loaded);
  }
  bw_plugin_unload(plugin);
}

static bool at_once(void) {
  return true;
}

static void a_cancelled_run_ends_at_once(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_FAULTY);
  struct bw_case *loaded = load_case(plugin, "strategy.faulty.fault=3", NULL);
  const struct bw_containment containment = {.deadline = 500.0, .is_cancelled = at_once};
  struct bw_evaluation evaluation;
  struct bw_diag diag = {0};
  const double start = seconds();
  assert_int_equal(bw_evaluate_contained(loaded, plugin, &containment, NULL, &evaluation, &diag),
                   BW_E_INTERRUPTED);
  CHECK_WITHIN(seconds() - start, 0.0, 10.0);
  assert_int_equal(diag.count, 0);
  bw_case_destroy(loaded);
  bw_plugin_unload(plugin);
}

static void the_copy_cannot_be_run_here(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_TWIN);
  struct bw_case *loaded = load_case(plugin, NULL, NULL);
  struct bw_evaluation evaluation;
  struct bw_diag diag = {0};
  assert_int_equal(bw_evaluate(loaded, bw_plugin_strategy(plugin), NULL, &evaluation, &diag),
                   BW_E_NUMERIC);
  bw_case_destroy(loaded);
  bw_plugin_unload(plugin);
}

static void a_short_parcel_is_refused(void **state) {
  (void)state;
  struct bw_event events[3] = {{.number = 1, .demanded = 237.0}, {.number = 2}, {.number = 0}};
  const struct bw_evaluation whole = {.event_count = 3, .events = events};
  struct bw_parcel parcel = {0};
  bw_parcel_put_evaluation(&parcel, &whole);
  const size_t size = parcel.size;
  for (size_t cut = 0; cut < size; cut += 7) {
    struct bw_evaluation out = {.event_count = 5};
    struct bw_diag diag = {0};
    parcel.size = cut;
    parcel.at = 0;
    parcel.has_failed = false;
    assert_int_equal(bw_parcel_get_evaluation(&parcel, &out, &diag), BW_E_INTERNAL);
    assert_int_equal(diag.count, 1);
    assert_null(out.events);
    assert_int_equal(out.event_count, 0);
  }
  struct bw_evaluation out;
  parcel.size = size;
  parcel.at = 0;
  parcel.has_failed = false;
  assert_int_equal(bw_parcel_get_evaluation(&parcel, &out, NULL), BW_OK);
  assert_int_equal(out.event_count, 3);
  assert_memory_equal(out.events, events, sizeof events);
  bw_evaluation_free(&out);
  bw_parcel_free(&parcel);
}

/* counts down, in the child from where the parent stood */
static bool may_allocate(void *context) {
  int *left = context;
  return (*left)-- > 0;
}

static void lack_of_memory_is_told(void **state) {
  (void)state;
  struct bw_plugin *plugin = load(CONTROLLER_TWIN);
  struct bw_case *loaded = load_case(plugin, NULL, NULL);
  int failures = 0;
  enum bw_status status = BW_E_MEMORY;
  for (int n = 0; n < 200 && status != BW_OK; n++) {
    int left = n;
    struct bw_evaluation evaluation;
    struct bw_plugin *second = NULL;
    struct bw_diag diag = {0};
    bw_alloc_set_hook(may_allocate, &left);
    status = bw_plugin_load(CONTROLLER_TWIN, &QUICK, &second, &diag);
    if (status == BW_OK) {
      status = bw_evaluate_contained(loaded, second, &QUICK, NULL, &evaluation, &diag);
    }
    bw_alloc_set_hook(NULL, NULL);
    if (status == BW_OK) {
      bw_evaluation_free(&evaluation);
    } else {
      failures++;
      if (status != BW_E_MEMORY) {
        print_error("%d: %d %s\n", n, (int)status, diag.line[0]);
      }
      assert_int_equal(status, BW_E_MEMORY);
    }
    bw_plugin_unload(second);
  }
  assert_int_equal(status, BW_OK);
  CHECK_WITHIN(failures, 6, 199);
  bw_case_destroy(loaded);
  bw_plugin_unload(plugin);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(loaded_code_gives_the_bytes_of_built_in_code),
      cmocka_unit_test(loaded_controller_sees_the_loss_map),
      cmocka_unit_test(parameters_are_those_of_the_table),
      cmocka_unit_test(static_memory_starts_anew_in_every_run),
      cmocka_unit_test(every_defect_is_one_message),
      cmocka_unit_test(a_cancelled_run_ends_at_once),
      cmocka_unit_test(the_copy_cannot_be_run_here),
      cmocka_unit_test(a_short_parcel_is_refused),
      cmocka_unit_test(lack_of_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
