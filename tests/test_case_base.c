/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "alloc.h"
#include "input/case_base.h"
#include "input/param.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CASE "cases/hatchback-wltc.cfg"

static const struct bw_override SETS[] = {{"battery.soc_percent=61"}, {"battery.temperature_c=3"}};

/* the parameters of a case as text, caller frees */
static char *resolved(const struct bw_case *loaded) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  assert_true(bw_param_write_resolved(loaded, stream));
  assert_int_equal(fclose(stream), 0);
  return text;
}

static struct bw_case_base *read_base(size_t sets) {
  const struct bw_case_source source = {CASE, "cases", sets, SETS};
  struct bw_case_base *base = NULL;
  assert_int_equal(bw_case_base_read(&source, NULL, &base, NULL), BW_OK);
  assert_non_null(base);
  return base;
}

static void check_same_trace(const struct bw_trace *one, const struct bw_trace *other) {
  /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): loaded before */
  assert_int_equal(one->kind, other->kind);
  assert_string_equal(one->name, other->name);
  assert_string_equal(one->source, other->source);
  assert_int_equal(one->n, other->n);
  assert_memory_equal(one->time, other->time, one->n * sizeof *one->time);
  assert_memory_equal(one->value, other->value, one->n * sizeof *one->value);
  assert_memory_equal(one->slope, other->slope, (one->n - 1) * sizeof *one->slope);
  assert_memory_equal(one->integral, other->integral, one->n * sizeof *one->integral);
  CHECK_CLOSE(one->box, other->box, 0.0);
  assert_int_equal(one->grade_n, other->grade_n);
  for (size_t i = 0; i < one->grade_n; i++) {
    CHECK_CLOSE(one->grade_distance[i], other->grade_distance[i], 0.0);
    CHECK_CLOSE(one->grade_sin[i], other->grade_sin[i], 0.0);
  }
}

/* a case that is derived is the one that is loaded, in failure too; true when it is one at all */
static bool check_same_of(const char *path, struct bw_case_base *base,
                          const struct bw_override *overrides, size_t count) {
  struct bw_case *derived = NULL;
  struct bw_case *loaded = NULL;
  struct bw_diag derived_diag = {0};
  struct bw_diag loaded_diag = {0};
  const enum bw_status status = bw_case_derive(base, overrides, count, &derived, &derived_diag);
  assert_int_equal(bw_case_load(path, "cases", overrides, count, &loaded, &loaded_diag), status);
  assert_int_equal(derived_diag.count, loaded_diag.count);
  for (size_t i = 0; i < loaded_diag.count; i++) {
    assert_string_equal(derived_diag.line[i], loaded_diag.line[i]);
  }
  assert_int_equal(derived == NULL, loaded == NULL);
  if (loaded != NULL) {
    char *one = resolved(derived);
    char *other = resolved(loaded);
    assert_string_equal(one, other);
    free(one);
    free(other);
    check_same_trace(&derived->trace, &loaded->trace);
  }
  const bool is_case = loaded != NULL;
  bw_case_destroy(derived);
  bw_case_destroy(loaded);
  return is_case;
}

static void check_same(struct bw_case_base *base, const struct bw_override *overrides,
                       size_t count) {
  (void)check_same_of(CASE, base, overrides, count);
}

static void derived_case_is_the_loaded_one(void **state) {
  (void)state;
  struct bw_case_base *base = read_base(0);
  static const struct bw_override lists[][2] = {
      {{"battery.soc_percent=37.5"}, {"friction.front.lag_ms=43"}},
      {{"cycle.name=udds"}, {"cycle.join_s=0.7"}},
      {{"cycle.name=cases/manoeuvres/stop-100.csv"}, {"driver.initial_speed_kmh=91"}},
      {{"road.grade_percent=3"}, {"battery.soc_percent=37.5"}},
      {{"road.grade_percent=-2.5"}, {"cycle.name=udds"}},
      {{"cycle.name=nowhere"}, {"battery.soc_percent=37.5"}},
      {{"battery.soc_percent=120"}, {"friction.front.lag_ms=-1"}},
      {{"battery.soc_percnt=12"}, {"strategy.series.fade_start_kmh=17"}},
      {{"strategy.series.fade_end_kmh=30"}, {"strategy.series.fade_start_kmh=17"}},
  };
  for (size_t round = 0; round < 2; round++) { /* the second time from what is remembered */
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
      check_same(base, lists[i], 2);
    }
    check_same(base, NULL, 0);
  }
  bw_case_base_destroy(base);
}

/* try KEY=WORD; true when that is a case */
static bool try_word(const char *path, struct bw_case_base *base, const char *key,
                     const char *word) {
  char text[256];
  (void)snprintf(text, sizeof text, "%s=%s", key, word);
  const struct bw_override override = {text};
  return check_same_of(path, base, &override, 1);
}

static bool try_number(const char *path, struct bw_case_base *base, const struct bw_param *param,
                       double number) {
  char word[32];
  (void)snprintf(word, sizeof word, "%.9g", number);
  return try_word(path, base, param->key, word);
}

/* other values of a key until one is a case; true when there is one */
static bool try_key(const char *path, struct bw_case_base *base, const struct bw_param *param,
                    double number) {
  static const char *const texts[] = {"udds", "cases/manoeuvres/grade-12.csv",
                                      "cases/vehicles/delivery-van-torque.csv",
                                      "cases/vehicles/delivery-van-loss.csv", "nowhere"};
  bool is_case = false;
  if (param->kind == BW_PARAM_NUMBER) {
    const double above = number + 0.01 * (param->max - number);
    const double below = number - 0.01 * (number - param->min);
    const double values[] = {number < param->max ? above : below, below, 2.0 * number, param->min,
                             param->max};
    for (size_t i = 0; i < sizeof values / sizeof values[0] && !is_case; i++) {
      is_case = try_number(path, base, param, values[i]);
    }
    return is_case;
  }
  if (param->kind == BW_PARAM_BOOL) {
    return try_word(path, base, param->key, number > 0.5 ? "false" : "true");
  }
  if (param->kind == BW_PARAM_CHOICE) { /* every word: the usual one is not told apart */
    for (const char *at = param->choices; *at != '\0'; at += strspn(at, "|")) {
      char word[64];
      const size_t length = strcspn(at, "|");
      (void)snprintf(word, sizeof word, "%.*s", (int)length, at);
      is_case = try_word(path, base, param->key, word) || is_case;
      at += length;
    }
    return is_case;
  }
  for (size_t i = 0; i < sizeof texts / sizeof texts[0] && !is_case; i++) {
    is_case = try_word(path, base, param->key, texts[i]);
  }
  return is_case;
}

/* The traces that are remembered are found by the keys they follow from. A key of the table that
 * were forgotten there would show here: its derived case had the trace of the case before. */
static void every_key_of_the_table_derives_as_it_loads(void **state) {
  (void)state;
  static const char *const paths[] = {"cases/manoeuvres/hill-hold.cfg", "cases/crossover-us06.cfg"};
  for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
    const struct bw_case_source source = {paths[i], "cases", 0, NULL};
    struct bw_case_base *base = NULL;
    struct bw_case *own = NULL; /* its trace is what may be lent wrongly */
    size_t cases = 0;
    assert_int_equal(bw_case_base_read(&source, NULL, &base, NULL), BW_OK);
    assert_int_equal(bw_case_derive(base, NULL, 0, &own, NULL), BW_OK);
    const struct bw_param_table *table = bw_case_params(own);
    for (size_t k = 0; k < bw_param_count(table); k++) {
      const struct bw_param *param = bw_param_at(table, k);
      double number = param->fallback;
      (void)bw_case_number(own, param->key, &number);
      cases += try_key(paths[i], base, param, isfinite(number) ? number : param->min) ? 1 : 0;
    }
    /* all keys but those that need others beside them, such as tables of other columns */
    assert_true(cases > bw_param_count(table) * 9 / 10);
    bw_case_destroy(own);
    bw_case_base_destroy(base);
  }
}

static void overrides_of_the_base_hold(void **state) {
  (void)state;
  struct bw_case_base *base = read_base(1);
  const struct bw_override more = {"battery.temperature_c=-7"};
  const struct bw_override again = {"battery.soc_percent=62"};
  struct bw_case *derived = NULL;
  double number = 0.0;
  assert_int_equal(bw_case_derive(base, &more, 1, &derived, NULL), BW_OK);
  assert_true(bw_case_number(derived, "battery.soc_percent", &number));
  CHECK_CLOSE(number, 61.0, 0.0);
  bw_case_destroy(derived);
  assert_int_equal(bw_case_derive(base, &again, 1, &derived, NULL), BW_OK);
  assert_true(bw_case_number(derived, "battery.soc_percent", &number));
  CHECK_CLOSE(number, 62.0, 0.0);
  bw_case_destroy(derived);
  bw_case_base_destroy(base);
}

static void trace_is_read_once(void **state) {
  (void)state;
  struct bw_case_base *base = read_base(0);
  const struct bw_override other = {"cycle.join_s=0.6"};
  struct bw_case *cases[3];
  assert_int_equal(bw_case_derive(base, NULL, 0, &cases[0], NULL), BW_OK);
  assert_int_equal(bw_case_derive(base, NULL, 0, &cases[1], NULL), BW_OK);
  assert_int_equal(bw_case_derive(base, &other, 1, &cases[2], NULL), BW_OK);
  assert_ptr_equal(cases[0]->trace.time, cases[1]->trace.time);
  assert_ptr_not_equal(cases[0]->trace.time, cases[2]->trace.time); /* another joining */
  for (size_t i = 0; i < 3; i++) {
    bw_case_destroy(cases[i]);
  }
  bw_case_base_destroy(base);
}

static void many_traces_are_not_remembered_for_ever(void **state) {
  (void)state;
  struct bw_case_base *base = read_base(0);
  for (int i = 0; i < 80; i++) {
    char text[64];
    (void)snprintf(text, sizeof text, "cycle.join_s=%.3f", 0.5 + 0.005 * i);
    const struct bw_override override = {text};
    struct bw_case *derived = NULL;
    assert_int_equal(bw_case_derive(base, &override, 1, &derived, NULL), BW_OK);
    CHECK_CLOSE(derived->trace.box, 0.5 + 0.005 * i, 1e-12);
    bw_case_destroy(derived);
  }
  bw_case_base_destroy(base);
}

/* let the first `*left` requests pass */
static bool allow_some(void *context) {
  size_t *left = context;
  if (*left == 0) {
    return false;
  }
  *left -= 1;
  return true;
}

static void no_memory_is_told(void **state) {
  (void)state;
  struct bw_case_base *base = read_base(0);
  const struct bw_override override = {"battery.soc_percent=55"};
  size_t failures = 0;
  for (size_t allowed = 0; allowed < 4000; allowed++) {
    size_t left = allowed;
    struct bw_case *derived = NULL;
    bw_alloc_set_hook(allow_some, &left);
    const enum bw_status status = bw_case_derive(base, &override, 1, &derived, NULL);
    bw_alloc_set_hook(NULL, NULL);
    bw_case_destroy(derived);
    if (status == BW_OK) {
      break;
    }
    assert_int_equal(status, BW_E_MEMORY);
    assert_null(derived);
    failures++;
  }
  assert_true(failures > 10 && failures < 4000);
  bw_case_base_destroy(base);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(derived_case_is_the_loaded_one),
      cmocka_unit_test(every_key_of_the_table_derives_as_it_loads),
      cmocka_unit_test(overrides_of_the_base_hold),
      cmocka_unit_test(trace_is_read_once),
      cmocka_unit_test(many_traces_are_not_remembered_for_ever),
      cmocka_unit_test(no_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
