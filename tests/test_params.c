/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "input/param_row.h"
#include "input/table_read.h"
#include "input/unit.h"
#include "strategies/registry.h"

#include <string.h>

static void fallback_is_in_range(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  assert_non_null(table);
  assert_true(bw_param_count(table) > 100);
  for (size_t i = 0; i < bw_param_count(table); i++) {
    const struct bw_param *param = bw_param_at(table, i);
    if (param->kind == BW_PARAM_NUMBER) {
      if (!(param->min < param->max)) {
        fail_msg("%s: empty range", param->key);
      }
    }
    if (!(param->min <= param->fallback && param->fallback <= param->max)) {
      fail_msg("%s: fallback %g outside %g to %g", param->key, param->fallback, param->min,
               param->max);
    }
  }
  assert_null(bw_param_at(table, bw_param_count(table)));
  bw_param_table_destroy(table);
}

static void keys_are_unique_and_found(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  assert_non_null(table);
  for (size_t i = 0; i < bw_param_count(table); i++) {
    const struct bw_param *param = bw_param_at(table, i);
    assert_ptr_equal(bw_param_find(table, param->key), param);
    assert_string_equal(bw_param_nearest(table, param->key), param->key);
    assert_non_null(strchr(param->key, '.'));
    assert_true(strlen(param->help) > 5);
    assert_null(strchr(param->help, '\n'));
  }
  assert_null(bw_param_find(table, "battery.soc_percnt"));
  assert_string_equal(bw_param_nearest(table, "battery.soc_percnt"), "battery.soc_percent");
  assert_null(bw_param_nearest(table, "zzzzzzzzzzzz"));
  bw_param_table_destroy(table);
}

static void units_are_those_of_the_suffix(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  assert_non_null(table);
  for (size_t i = 0; i < bw_param_count(table); i++) {
    const struct bw_param *param = bw_param_at(table, i);
    if (param->kind == BW_PARAM_NUMBER) {
      const char *wanted = bw_unit_of_name(param->key)->text;
      if (strcmp(param->unit, wanted) != 0) {
        fail_msg("%s: unit '%s', by suffix '%s'", param->key, param->unit, wanted);
      }
    } else {
      assert_string_equal(param->unit, "");
    }
  }
  bw_param_table_destroy(table);
}

static void groups_stand_together(void **state) {
  (void)state;
  /* resolved.cfg opens each group once, so the keys of a group must follow one another */
  struct bw_param_table *table = bw_param_table_create();
  assert_non_null(table);
  const size_t count = bw_param_count(table);
  for (size_t i = 0; i + 1 < count; i++) {
    const char *key = bw_param_at(table, i)->key;
    const char *next = bw_param_at(table, i + 1)->key;
    for (const char *dot = strchr(key, '.'); dot != NULL; dot = strchr(dot + 1, '.')) {
      const size_t length = (size_t)(dot - key) + 1;
      if (strncmp(key, next, length) == 0) {
        continue; /* the group goes on */
      }
      for (size_t j = i + 2; j < count; j++) {
        if (strncmp(key, bw_param_at(table, j)->key, length) == 0) {
          fail_msg("group of %s is opened again by %s", key, bw_param_at(table, j)->key);
        }
      }
    }
  }
  bw_param_table_destroy(table);
}

static void strategies_join_the_table(void **state) {
  (void)state;
  struct bw_param_table *table = bw_param_table_create();
  assert_non_null(table);
  size_t seen = 0;
  for (size_t i = 0; i < bw_strategy_count(); i++) {
    const struct bw_blend_strategy *strategy = bw_strategy_at(i);
    for (size_t j = 0; j < strategy->param_count; j++) {
      char key[200];
      (void)snprintf(key, sizeof key, "strategy.%s.%s", strategy->name, strategy->params[j].name);
      const struct bw_param *param = bw_param_find(table, key);
      assert_non_null(param);
      CHECK_CLOSE(param->fallback, strategy->params[j].fallback, 0.0);
      CHECK_CLOSE(param->min, strategy->params[j].min, 0.0);
      CHECK_CLOSE(param->max, strategy->params[j].max, 0.0);
      seen++;
    }
  }
  assert_true(seen > 0);
  bw_param_table_destroy(table);
}

static void units_become_si(void **state) {
  (void)state;
  const struct {
    const char *name;
    double value;
    double si;
  } rows[] = {
      {"speed_kmh", 36.9, 10.25},        {"speed_rpm", 60.0, 6.283185307179586},
      {"temperature_c", 23.7, 296.85},   {"share_percent", 37.0, 0.37},
      {"pressure_bar", 2.37, 237000.0},  {"capacity_ah", 1.37, 4932.0},
      {"resistance_mohm", 23.7, 0.0237}, {"f1_n_per_kmh", 1.0, 3.6},
      {"f2_n_per_kmh2", 1.0, 12.96},     {"x_nm_per_bar", 23.7, 0.000237},
      {"felt_line_g", 0.015, 0.14715},   {"lag_ms", 23.7, 0.0237},
      {"slip_stiffness", 21.3, 21.3},    {"cooling_w_per_k_per_mps", 0.7, 0.7},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_RELATIVE(bw_unit_to_si(bw_unit_of_name(rows[i].name), rows[i].value), rows[i].si, 1e-14);
  }
}

static void shapes_are_split(void **state) {
  (void)state;
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  assert_int_equal(bw_table_shapes("speed_rpm,soc_percent,torque_nm|speed_rpm,torque_nm", shapes),
                   2);
  assert_int_equal(shapes[0].columns, 3);
  assert_string_equal(shapes[0].name[1], "soc_percent");
  assert_int_equal(shapes[1].columns, 2);
  assert_string_equal(shapes[1].name[1], "torque_nm");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fallback_is_in_range),
      cmocka_unit_test(keys_are_unique_and_found),
      cmocka_unit_test(units_are_those_of_the_suffix),
      cmocka_unit_test(groups_stand_together),
      cmocka_unit_test(strategies_join_the_table),
      cmocka_unit_test(units_become_si),
      cmocka_unit_test(shapes_are_split),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
