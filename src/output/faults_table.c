/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/faults_table.h"

#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

#define TO_KMH 3.6

enum { COLUMNS = 12, LINE_MAX_BYTES = 4096 };

static bool is_worse(const struct bw_fault_study *study, const struct bw_fault_cell *a,
                     const struct bw_fault_cell *b) {
  if (a->status != BW_OK || b->status != BW_OK) {
    return a->status == BW_OK && b->status != BW_OK;
  }
  return bw_fault_effect_rank(&a->worst.effect, study->order) >
         bw_fault_effect_rank(&b->worst.effect, study->order);
}

void bw_fault_cells_sort(const struct bw_fault_study *study) {
  for (size_t i = 1; i < study->count; i++) {
    const struct bw_fault_cell cell = study->cells[i];
    size_t k = i;
    while (k > 0 && is_worse(study, &cell, &study->cells[k - 1])) {
      study->cells[k] = study->cells[k - 1];
      k--;
    }
    study->cells[k] = cell;
  }
}

bool bw_fault_conditions_print(const struct bw_fault_conditions *conditions, FILE *stream) {
  for (size_t i = 0; i < conditions->count; i++) {
    char text[LINE_MAX_BYTES] = "";
    size_t used = 0;
    for (size_t k = 0; k < conditions->key_count; k++) {
      const char *value = conditions->value[i * conditions->key_count + k];
      const bool is_same = i > 0 && strcmp(value, conditions->value[k]) == 0;
      if (!is_same && used < sizeof text) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s=%s", used > 0 ? " " : "",
                                 conditions->key[k], value);
      }
    }
    char lead[32];
    (void)snprintf(lead, sizeof lead, "  C%-4zu ", i + 1);
    bw_wrap_print(lead, used > 0 ? text : "the case as given", stream);
  }
  return ferror(stream) == 0;
}

static void put_figure(struct bw_grid *grid, int digits, double value) {
  char text[32] = "-";
  if (isfinite(value)) {
    /* -0.00 is 0.00 */
    const double unit = digits == 1 ? 0.05 : 0.005;
    (void)snprintf(text, sizeof text, "%.*f", digits, fabs(value) < unit ? 0.0 : value);
  }
  bw_grid_put(grid, text);
}

static void put_row(struct bw_grid *grid, const struct bw_fault_cell *cell) {
  const struct bw_fault_effect *effect = &cell->worst.effect;
  bw_grid_put(grid, cell->kind);
  bw_grid_putf(grid, "C%zu", cell->condition + 1);
  put_figure(grid, 2, effect->start);
  put_figure(grid, 2, effect->lost);
  put_figure(grid, 2, effect->lost_time);
  put_figure(grid, 2, effect->gained);
  put_figure(grid, 2, effect->way);
  put_figure(grid, 1, effect->speed_left * TO_KMH);
  put_figure(grid, 2, effect->slip);
  put_figure(grid, 2, effect->lock_time);
  put_figure(grid, 2, effect->margin);
  put_figure(grid, 2, effect->until_met);
}

static const char *const HEADS[2][COLUMNS] = {
    {"fault", "in", "start", "lost", "for", "gained", "further", "left", "slip", "no grip", "axles",
     "met"},
    {"", "", "s", "m/s2", "s", "m/s2", "m", "km/h", "", "s", "", "s"},
};

static enum bw_status print_grid(const struct bw_fault_study *study, size_t rows, FILE *stream) {
  struct bw_grid *grid = bw_grid_create(COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 1);
  for (size_t i = 0; i < (size_t)2 * COLUMNS; i++) {
    bw_grid_put(grid, HEADS[i / COLUMNS][i % COLUMNS]);
  }
  for (size_t i = 0; i < rows && study->cells[i].status == BW_OK; i++) {
    put_row(grid, &study->cells[i]);
  }
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 2, 0, stream);
  bw_grid_destroy(grid);
  return status;
}

static const char *const ORDER_TEXTS[BW_FAULT_ORDER_COUNT] = {
    [BW_FAULT_BY_WAY] = "the way further, then unintended deceleration",
    [BW_FAULT_BY_SPEED] = "the speed left",
    [BW_FAULT_BY_LOSS] = "the deceleration lost",
    [BW_FAULT_BY_GAIN] = "the unintended deceleration",
    [BW_FAULT_BY_SLIP] = "the slip",
    [BW_FAULT_BY_LOCK] = "the time without grip",
    [BW_FAULT_BY_TIME] = "the time until the demand is met again, never first",
    [BW_FAULT_BY_BALANCE] = "the axle balance, least first"};

enum bw_status bw_fault_cells_print(const struct bw_fault_study *study, size_t rows, FILE *stream) {
  size_t failed = 0;
  for (size_t i = 0; i < study->count; i++) {
    failed += study->cells[i].status != BW_OK ? 1 : 0;
  }
  rows = rows < study->count ? rows : study->count;
  const enum bw_status status = print_grid(study, rows, stream);
  if (status != BW_OK) {
    return status;
  }
  if (rows < study->count - failed) {
    (void)fprintf(stream, "%zu more cells are not shown; --rows %zu shows all\n",
                  study->count - failed - rows, study->count);
  }
  for (size_t i = study->count - failed; i < study->count; i++) {
    char text[LINE_MAX_BYTES];
    (void)snprintf(text, sizeof text, "%s in C%zu failed: %s", study->cells[i].kind,
                   study->cells[i].condition + 1, study->cells[i].failure);
    bw_wrap_print("", text, stream);
  }
  char text[LINE_MAX_BYTES];
  (void)snprintf(
      text, sizeof text,
      "Each row is the worst start that was found in its condition, and the rows are "
      "sorted, both by %s. Against the sound car at the same moment: 'lost' deceleration, "
      "'for' how long a driver notices it, 'gained' unintended deceleration; 'further' "
      "at the end, 'left' the speed above its own where it ended. From the fault on: "
      "greatest slip, time with no grip (an axle asks for more than the road gives; "
      "with fidelity slip, a locked wheel), least margin of the axle balance, time "
      "until the demand is met again. '-': not reached or not judged.",
      ORDER_TEXTS[study->order]);
  (void)fputc('\n', stream);
  bw_wrap_print("", text, stream);
  (void)fputs(
      "Predictions for a hazard analysis: no rating, no ASIL is assigned here. They replace "
      "no test.\n",
      stream);
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}
