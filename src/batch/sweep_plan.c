/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/sweep_plan.h"

#include "alloc.h"
#include "input/number.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* a text inside a longer one */
struct word {
  const char *text;
  size_t length;
};

static bool is_swept(const struct bw_sweep_plan *plan, const char *key) {
  for (size_t i = 0; i < bw_sweep_key_count(plan); i++) {
    if (strcmp(bw_sweep_key(plan, i), key) == 0) {
      return true;
    }
  }
  return false;
}

static enum bw_status find_key(const struct bw_sweep_plan *plan, const struct bw_param_table *table,
                               const char *key, const struct bw_param **out, struct bw_diag *diag) {
  *out = bw_param_find(table, key);
  if (*out == NULL) {
    const char *nearest = bw_param_nearest(table, key);
    if (nearest != NULL) {
      return bw_fail(diag, BW_E_USAGE, "cannot sweep unknown key '%s'; did you mean '%s'?", key,
                     nearest);
    }
    return bw_fail(diag, BW_E_USAGE,
                   "cannot sweep unknown key '%s'; 'brakeweave list parameters' names them", key);
  }
  if (is_swept(plan, (*out)->key)) {
    return bw_fail(diag, BW_E_USAGE, "key '%s' is swept twice; give all its values in one place",
                   key);
  }
  return BW_OK;
}

static enum bw_status multiply(struct bw_sweep_plan *plan, size_t count, struct bw_diag *diag) {
  const size_t points = plan->point_count == 0 ? 1 : plan->point_count;
  if (count > BW_SWEEP_POINTS_MAX / points) {
    return bw_fail(diag, BW_E_USAGE,
                   "the sweep has %.3g points and %u are the most; take fewer values per key or "
                   "longer steps",
                   (double)count * (double)points, BW_SWEEP_POINTS_MAX);
  }
  plan->point_count = points * count;
  return BW_OK;
}

/* the key of a column, or that it names strategies */
static enum bw_status take_column(struct bw_sweep_plan *plan, const struct bw_param_table *table,
                                  const struct bw_csv *points, size_t column,
                                  struct bw_diag *diag) {
  const char *name = points->names[column];
  const bool is_strategy = strcmp(name, "strategy") == 0;
  const struct bw_param *param =
      is_strategy ? NULL : bw_param_find(table, strcmp(name, "cycle") == 0 ? "cycle.name" : name);
  if (is_strategy ? plan->names_strategies : param != NULL && is_swept(plan, param->key)) {
    return bw_fail_at(diag, BW_E_INPUT, points->path, points->header_line,
                      "column '%s' is there twice; leave one out", name);
  }
  if (is_strategy) {
    plan->names_strategies = true;
    plan->strategy_column = column;
    return BW_OK;
  }
  if (param == NULL) {
    const char *nearest = bw_param_nearest(table, name);
    return bw_fail_at(diag, BW_E_INPUT, points->path, points->header_line,
                      "column '%s' is no parameter; name a key such as '%s'", name,
                      nearest != NULL ? nearest : "battery.soc_percent");
  }
  plan->point_key[plan->point_key_count++] =
      (struct bw_sweep_point_key){param->key, column, param->kind == BW_PARAM_NUMBER};
  return BW_OK;
}

static enum bw_status check_cell(const struct bw_sweep_point_key *key, const struct bw_csv *points,
                                 size_t row, struct bw_diag *diag) {
  const char *word = bw_csv_word(points, row, key->column);
  const size_t length = strlen(word);
  double number = 0.0;
  if (length >= BW_SWEEP_VALUE_MAX) {
    return bw_fail_at(diag, BW_E_INPUT, points->path, points->lines[row],
                      "value of '%s' is too long; keep it below %d bytes", key->key,
                      BW_SWEEP_VALUE_MAX);
  }
  if (key->is_number && !bw_number_parse(word, length, &number)) {
    return bw_fail_at(diag, BW_E_INPUT, points->path, points->lines[row],
                      "'%.60s' in column '%s' is not a number; give a number such as 12.5", word,
                      key->key);
  }
  return BW_OK;
}

enum bw_status bw_sweep_plan_points(struct bw_sweep_plan *plan, const struct bw_param_table *table,
                                    const struct bw_csv *points, struct bw_diag *diag) {
  BW_ASSERT(plan->axis_count == 0 && plan->points == NULL);
  if (points->columns > BW_SWEEP_COLUMNS_MAX) {
    return bw_fail_at(diag, BW_E_INPUT, points->path, points->header_line,
                      "has %zu columns; sweep at most %d keys by points", points->columns,
                      BW_SWEEP_COLUMNS_MAX);
  }
  for (size_t i = 0; i < points->columns; i++) {
    BW_TRY(take_column(plan, table, points, i, diag));
  }
  for (size_t row = 0; row < points->rows; row++) {
    for (size_t i = 0; i < plan->point_key_count; i++) {
      BW_TRY(check_cell(&plan->point_key[i], points, row, diag));
    }
  }
  plan->points = points;
  return multiply(plan, points->rows, diag);
}

/* the next word of *rest up to `mark`; false at the end */
static bool next_word(const char **rest, size_t *left, char mark, struct word *word) {
  if (*rest == NULL) {
    return false;
  }
  const char *end = memchr(*rest, mark, *left);
  word->text = *rest;
  word->length = end == NULL ? *left : (size_t)(end - *rest);
  *left -= end == NULL ? *left : word->length + 1;
  *rest = end == NULL ? NULL : end + 1;
  return true;
}

static enum bw_status fail_item(const char *key, struct word word, struct bw_diag *diag) {
  return bw_fail(diag, BW_E_USAGE,
                 "'%.*s' is no number and no range for %s; write FROM:TO:STEP or FROM:TO:xFACTOR "
                 "that lead from FROM to TO",
                 word.length < 100 ? (int)word.length : 100, word.text, key);
}

/* a sound range that no sweep can hold; the step that is named gives about eleven values */
static enum bw_status fail_long_range(const char *key, struct word word,
                                      const struct bw_sweep_span *span, double to, double count,
                                      struct bw_diag *diag) {
  const double step = span->is_factor ? pow(to / span->from, 0.1) : 0.1 * to - 0.1 * span->from;
  return bw_fail(diag, BW_E_USAGE,
                 "'%.*s' is %s%.3g values for %s and a sweep has at most %u points; take a longer "
                 "step, for instance %s%.3g",
                 word.length < 100 ? (int)word.length : 100, word.text,
                 isinf(count) ? "more than " : "", isinf(count) ? 1e300 : count, key,
                 BW_SWEEP_POINTS_MAX, span->is_factor ? "x" : "", step);
}

/* values from span->from to `to`, infinite when a number cannot tell; 0 when the step leads
 * nowhere */
static double count_values(const struct bw_sweep_span *span, double to) {
  double steps = (double)NAN;
  if (span->is_factor) {
    const double ratio = fabs(span->from) > 0.0 ? to / span->from : 0.0;
    const bool is_sound = span->step > 0.0 && (span->step > 1.0 || span->step < 1.0) &&
                          ratio > 0.0 && isfinite(ratio);
    steps = is_sound ? log(ratio) / log(span->step) : (double)NAN;
  } else if (fabs(span->step) > 0.0) {
    steps = (to - span->from) / span->step;
  }
  return steps >= 0.0 ? floor(steps + 1e-9) + 1.0 : 0.0;
}

static enum bw_status read_number_item(const char *key, struct word word,
                                       struct bw_sweep_span *span, struct bw_diag *diag) {
  struct word part[3] = {{0}};
  size_t count = 0;
  const char *rest = word.text;
  size_t left = word.length;
  struct word one;
  while (next_word(&rest, &left, ':', &one)) {
    if (count == 3) {
      return fail_item(key, word, diag);
    }
    part[count++] = one;
  }
  double to = 0.0;
  if (!bw_number_parse(part[0].text, part[0].length, &span->from) || count == 2) {
    return fail_item(key, word, diag);
  }
  if (count == 1) {
    *span = (struct bw_sweep_span){.text = word.text, .length = word.length, .count = 1};
    return BW_OK;
  }
  span->is_factor = part[2].length > 0 && part[2].text[0] == 'x';
  const size_t skip = span->is_factor ? 1 : 0;
  if (!bw_number_parse(part[1].text, part[1].length, &to) ||
      !bw_number_parse(part[2].text + skip, part[2].length - skip, &span->step)) {
    return fail_item(key, word, diag);
  }
  const double values = count_values(span, to);
  if (values > (double)BW_SWEEP_POINTS_MAX) {
    return fail_long_range(key, word, span, to, values, diag);
  }
  span->count = (size_t)values;
  return span->count > 0 ? BW_OK : fail_item(key, word, diag);
}

static enum bw_status read_item(const struct bw_param *param, struct word word,
                                struct bw_sweep_span *span, struct bw_diag *diag) {
  if (word.length == 0 || word.length >= BW_SWEEP_VALUE_MAX) {
    return bw_fail(diag, BW_E_USAGE, "%s has an empty or overlong value; write %s=VALUE,VALUE",
                   param->key, param->key);
  }
  if (param->kind == BW_PARAM_NUMBER) {
    return read_number_item(param->key, word, span, diag);
  }
  *span = (struct bw_sweep_span){.text = word.text, .length = word.length, .count = 1};
  return BW_OK;
}

static size_t count_words(const char *text) {
  size_t count = 1;
  for (; *text != '\0'; text++) {
    count += *text == ',' ? 1 : 0;
  }
  return count;
}

static enum bw_status read_axis(struct bw_sweep_axis *axis, const struct bw_param *param,
                                const char *values, struct bw_diag *diag) {
  axis->key = param->key;
  axis->span = bw_alloc(count_words(values), sizeof *axis->span);
  if (axis->span == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the values of %s", param->key);
  }
  const char *rest = values;
  size_t left = strlen(values);
  struct word word;
  while (next_word(&rest, &left, ',', &word)) {
    BW_TRY(read_item(param, word, &axis->span[axis->span_count], diag));
    axis->count += axis->span[axis->span_count++].count;
  }
  return BW_OK;
}

enum bw_status bw_sweep_plan_add(struct bw_sweep_plan *plan, const struct bw_param_table *table,
                                 const char *text, struct bw_diag *diag) {
  char key[BW_SWEEP_VALUE_MAX];
  const char *equals = strchr(text, '=');
  if (equals == NULL || equals == text || equals - text >= BW_SWEEP_VALUE_MAX) {
    return bw_fail(diag, BW_E_USAGE, "'%.160s' names no values; write --over KEY=VALUE,VALUE",
                   text);
  }
  if (plan->axis_count == BW_SWEEP_AXES_MAX) {
    return bw_fail(diag, BW_E_USAGE, "more than %d keys are swept; use --points for the rest",
                   BW_SWEEP_AXES_MAX);
  }
  (void)snprintf(key, sizeof key, "%.*s", (int)(equals - text), text);
  const struct bw_param *param = NULL;
  BW_TRY(find_key(plan, table, strcmp(key, "cycle") == 0 ? "cycle.name" : key, &param, diag));
  struct bw_sweep_axis axis = {0};
  enum bw_status status = read_axis(&axis, param, equals + 1, diag);
  if (status == BW_OK) {
    status = multiply(plan, axis.count, diag);
  }
  if (status != BW_OK) {
    bw_free(axis.span);
    return status;
  }
  plan->axis[plan->axis_count++] = axis;
  return BW_OK;
}

void bw_sweep_plan_free(struct bw_sweep_plan *plan) {
  for (size_t i = 0; i < plan->axis_count; i++) {
    bw_free(plan->axis[i].span);
  }
  *plan = (struct bw_sweep_plan){0};
}

enum bw_status bw_sweep_plan_draws(struct bw_sweep_plan *plan, struct bw_draws *draws,
                                   struct bw_diag *diag) {
  for (size_t i = 0; i < bw_draws_key_count(draws); i++) {
    if (is_swept(plan, bw_draws_key(draws, i))) {
      return bw_fail(diag, BW_E_USAGE,
                     "key '%s' is swept and has a tolerance; leave out one, for instance by --set "
                     "tolerances.%s=none",
                     bw_draws_key(draws, i), bw_draws_key(draws, i));
    }
  }
  BW_TRY(multiply(plan, bw_draws_rows(draws), diag));
  plan->draws = draws;
  return BW_OK;
}

/* keys that are not drawn */
static size_t grid_count(const struct bw_sweep_plan *plan) {
  return plan->point_key_count + plan->axis_count;
}

size_t bw_sweep_key_count(const struct bw_sweep_plan *plan) {
  return grid_count(plan) + (plan->draws != NULL ? bw_draws_key_count(plan->draws) : 0);
}

const char *bw_sweep_key(const struct bw_sweep_plan *plan, size_t index) {
  if (index >= grid_count(plan)) {
    return bw_draws_key(plan->draws, index - grid_count(plan));
  }
  return index < plan->point_key_count ? plan->point_key[index].key
                                       : plan->axis[index - plan->point_key_count].key;
}

static void put_span(const struct bw_sweep_span *span, size_t at, char value[BW_SWEEP_VALUE_MAX]) {
  if (span->text != NULL) {
    (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%.*s", (int)span->length, span->text);
    return;
  }
  const double steps = (double)at;
  const double number =
      span->is_factor ? span->from * pow(span->step, steps) : span->from + span->step * steps;
  /* a sum that should be 0 is not 1e-17 */
  const bool is_zero = !span->is_factor && fabs(number) < 1e-9 * fabs(span->step);
  (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%.15g", is_zero ? 0.0 : number);
}

static void put_cell(const struct bw_csv *points, size_t row, const struct bw_sweep_point_key *key,
                     char value[BW_SWEEP_VALUE_MAX]) {
  const char *word = bw_csv_word(points, row, key->column);
  double number = 0.0;
  double back = (double)NAN;
  if (!key->is_number || !bw_number_parse(word, strlen(word), &number)) {
    (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%s", word);
    return;
  }
  (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%.15g", number);
  const bool is_read = bw_number_parse(value, strlen(value), &back);
  if (!is_read || back < number || back > number) {
    (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%.17g", number);
  }
}

/* the draw of a point; the rest of its number is that of its place in the grid */
static size_t take_draw(const struct bw_sweep_plan *plan, size_t *rest) {
  const size_t rows = plan->draws != NULL ? bw_draws_rows(plan->draws) : 1;
  const size_t row = *rest % rows;
  *rest /= rows;
  return row;
}

void bw_sweep_value(const struct bw_sweep_plan *plan, size_t point, size_t index,
                    char value[BW_SWEEP_VALUE_MAX]) {
  size_t rest = point;
  const size_t row = take_draw(plan, &rest);
  if (index >= grid_count(plan)) {
    (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%.15g",
                   bw_draws_value(plan->draws, row, index - grid_count(plan)));
    return;
  }
  for (size_t i = plan->axis_count; i-- > 0;) {
    const struct bw_sweep_axis *axis = &plan->axis[i];
    size_t at = rest % axis->count;
    rest /= axis->count;
    if (plan->point_key_count + i != index) {
      continue;
    }
    const struct bw_sweep_span *span = axis->span;
    for (; at >= span->count; span++) {
      at -= span->count;
    }
    put_span(span, at, value);
    return;
  }
  BW_ASSERT(index < plan->point_key_count && rest < plan->points->rows);
  put_cell(plan->points, rest, &plan->point_key[index], value);
}

const char *bw_sweep_strategy(const struct bw_sweep_plan *plan, size_t point) {
  if (!plan->names_strategies) {
    return NULL;
  }
  size_t rest = point;
  (void)take_draw(plan, &rest);
  for (size_t i = 0; i < plan->axis_count; i++) {
    rest /= plan->axis[i].count;
  }
  return bw_csv_word(plan->points, rest, plan->strategy_column);
}

/* columns that are no keys, between those of the grid and those that are drawn */
static size_t mark_count(const struct bw_sweep_plan *plan) {
  return plan->draws == NULL ? 0 : bw_draws_has_parts(plan->draws) ? 2 : 1;
}

size_t bw_sweep_column_count(const struct bw_sweep_plan *plan) {
  return bw_sweep_key_count(plan) + mark_count(plan);
}

const char *bw_sweep_column(const struct bw_sweep_plan *plan, size_t index) {
  const size_t grid = grid_count(plan);
  const size_t marks = mark_count(plan);
  if (index >= grid && index < grid + marks) {
    return index == grid ? "sample" : "part";
  }
  return bw_sweep_key(plan, index < grid ? index : index - marks);
}

void bw_sweep_column_value(const struct bw_sweep_plan *plan, size_t point, size_t index,
                           char value[BW_SWEEP_VALUE_MAX]) {
  const size_t grid = grid_count(plan);
  const size_t marks = mark_count(plan);
  if (index < grid || index >= grid + marks) {
    bw_sweep_value(plan, point, index < grid ? index : index - marks, value);
    return;
  }
  size_t rest = point;
  const size_t row = take_draw(plan, &rest);
  if (index == grid) {
    (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%zu", bw_draws_number(plan->draws, row));
  } else {
    (void)snprintf(value, BW_SWEEP_VALUE_MAX, "%s", bw_draws_part(plan->draws, row));
  }
}
