/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each line an axis of a sweep and, behind the equals sign, a distribution. */
#include "batch/sweep_plan.h"
#include "fuzz.h"
#include "input/distribution.h"
#include "input/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { POINTS_MAX = 60 };

static void look(const struct bw_sweep_plan *plan, size_t point) {
  for (size_t k = 0; k < plan->axis_count; k++) {
    char value[BW_SWEEP_VALUE_MAX];
    double number = 0.0;
    bw_sweep_value(plan, point, k, value);
    FUZZ_CHECK(strlen(value) < sizeof value);
    FUZZ_CHECK(plan->axis[k].span[0].text != NULL ||
               bw_number_parse(value, strlen(value), &number));
  }
}

static void read_distribution(const struct bw_param_table *table, const char *text) {
  char why[BW_DISTRIBUTION_WHY_MAX] = "";
  const struct bw_param *param = bw_param_find(table, "battery.soc_percent");
  struct bw_distribution spread = {0};
  if (!bw_distribution_parse(text, param, &spread, why)) {
    FUZZ_CHECK(strlen(why) > 0);
    return;
  }
  if (spread.kind != BW_DISTRIBUTION_NORMAL) {
    FUZZ_CHECK(spread.min >= param->min && spread.max <= param->max && spread.min < spread.max);
  }
  if (spread.has_centre) {
    FUZZ_CHECK(spread.centre >= param->min && spread.centre <= param->max);
  }
  if (spread.kind == BW_DISTRIBUTION_NORMAL || spread.kind == BW_DISTRIBUTION_BOUNDED) {
    FUZZ_CHECK(spread.deviation > 0.0 && isfinite(spread.deviation));
  }
}

static void read_lines(const struct bw_param_table *table, char *text) {
  struct bw_sweep_plan plan = {.point_count = 1};
  for (char *line = text; line != NULL;) {
    char *end = strchr(line, '\n');
    if (end != NULL) {
      *end = '\0';
    }
    struct bw_diag diag = {0};
    const size_t axes = plan.axis_count;
    const enum bw_status status = bw_sweep_plan_add(&plan, table, line, &diag);
    fuzz_check_outcome(status, &diag);
    FUZZ_CHECK(plan.axis_count == axes + (status == BW_OK ? 1 : 0));
    FUZZ_CHECK(plan.point_count >= 1 && plan.point_count <= BW_SWEEP_POINTS_MAX);
    const char *equals = strchr(line, '=');
    read_distribution(table, equals != NULL ? equals + 1 : line);
    line = end != NULL ? end + 1 : NULL;
  }
  for (size_t i = 0; i < plan.point_count && i < POINTS_MAX; i++) {
    look(&plan, i);
    look(&plan, plan.point_count - 1 - i);
  }
  bw_sweep_plan_free(&plan);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct bw_param_table *table = bw_param_table_create();
  FUZZ_CHECK(table != NULL);
  char *text = fuzz_text(bytes, size);
  read_lines(table, text);
  free(text);
  bw_param_table_destroy(table);
  return 0;
}
