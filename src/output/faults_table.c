/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/faults_table.h"

#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

#define TO_KMH 3.6

enum { COLUMNS = 12, DIGEST_COLUMNS = 10, LINE_MAX_BYTES = 4096 };

/* half of the last digit that the table shows; what differs less from the sound car is left out */
static const double SHOWN = 0.005;      /* m/s2, s, m, 1 */
static const double SHOWN_SPEED = 0.05; /* km/h */

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

static bool is_shown(double difference) {
  return fabs(difference) >= SHOWN; /* NaN, not judged: no */
}

static bool has_effect(const struct bw_fault_cell *cell) {
  const struct bw_fault_effect *effect = &cell->worst.effect;
  return is_shown(effect->lost) || is_shown(effect->gained) || is_shown(effect->way) ||
         effect->speed_left * TO_KMH >= SHOWN_SPEED || !(effect->until_met < SHOWN) ||
         is_shown(effect->slip - effect->slip_sound) ||
         is_shown(effect->lock_time - effect->lock_time_sound) ||
         is_shown(effect->margin - effect->margin_sound);
}

static void put_figure(struct bw_grid *grid, int digits, double value) {
  char text[32] = "-";
  if (isfinite(value)) {
    /* -0.00 is 0.00 */
    const double unit = digits == 1 ? SHOWN_SPEED : SHOWN;
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

/* cells of a study, or of one kind of it */
struct count {
  size_t cells;
  size_t hurt; /* in which something happened */
  size_t failed;
};

static void count_cell(const struct bw_fault_cell *cell, struct count *count) {
  count->cells++;
  count->failed += cell->status != BW_OK ? 1 : 0;
  count->hurt += cell->status == BW_OK && has_effect(cell) ? 1 : 0;
}

static enum bw_status print_grid(const struct bw_fault_study *study, size_t rows, FILE *stream) {
  struct bw_grid *grid = bw_grid_create(COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 1);
  for (size_t i = 0; i < (size_t)2 * COLUMNS; i++) {
    bw_grid_put(grid, HEADS[i / COLUMNS][i % COLUMNS]);
  }
  size_t put = 0;
  for (size_t i = 0; i < study->count && put < rows && study->cells[i].status == BW_OK; i++) {
    if (has_effect(&study->cells[i])) {
      put_row(grid, &study->cells[i]);
      put++;
    }
  }
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 2, 0, stream);
  bw_grid_destroy(grid);
  return status;
}

static const char *const DIGEST_HEADS[2][DIGEST_COLUMNS] = {
    {"fault", "in", "start", "at", "lost", "gained", "further", "left", "met", "cells"},
    {"", "", "s", "km/h", "m/s2", "m/s2", "m", "km/h", "s", "hurt"},
};

static void put_digest_row(struct bw_grid *grid, const struct bw_fault_cell *cell,
                           const struct count *count) {
  const struct bw_fault_effect *effect = &cell->worst.effect;
  bw_grid_put(grid, cell->kind);
  bw_grid_putf(grid, "C%zu", cell->condition + 1);
  put_figure(grid, 2, effect->start);
  put_figure(grid, 1, effect->speed * TO_KMH);
  put_figure(grid, 2, effect->lost);
  put_figure(grid, 2, effect->gained);
  put_figure(grid, 2, effect->way);
  put_figure(grid, 1, effect->speed_left * TO_KMH);
  put_figure(grid, 2, effect->until_met);
  bw_grid_putf(grid, "%zu of %zu", count->hurt, count->cells);
}

/* the first cell of a kind is its worst, because the cells are sorted */
static bool is_first_of_kind(const struct bw_fault_study *study, size_t index) {
  for (size_t i = 0; i < index; i++) {
    if (strcmp(study->cells[i].kind, study->cells[index].kind) == 0) {
      return false;
    }
  }
  return true;
}

static struct count count_kind(const struct bw_fault_study *study, const char *kind) {
  struct count count = {0};
  for (size_t i = 0; i < study->count; i++) {
    if (strcmp(study->cells[i].kind, kind) == 0) {
      count_cell(&study->cells[i], &count);
    }
  }
  return count;
}

/* of cells that tie with the worst the first one with an effect, else the worst */
static const struct bw_fault_cell *worst_of_kind(const struct bw_fault_study *study, size_t first) {
  for (size_t i = first; i < study->count && study->cells[i].status == BW_OK; i++) {
    if (strcmp(study->cells[i].kind, study->cells[first].kind) == 0 &&
        has_effect(&study->cells[i])) {
      return &study->cells[i];
    }
  }
  return &study->cells[first];
}

/* a row per kind with its worst cell; kinds that did nothing are named below */
static enum bw_status print_digest(const struct bw_fault_study *study, FILE *stream) {
  struct bw_grid *grid = bw_grid_create(DIGEST_COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 1);
  for (size_t i = 0; i < (size_t)2 * DIGEST_COLUMNS; i++) {
    bw_grid_put(grid, DIGEST_HEADS[i / DIGEST_COLUMNS][i % DIGEST_COLUMNS]);
  }
  char idle[LINE_MAX_BYTES] = "";
  for (size_t i = 0; i < study->count; i++) {
    if (!is_first_of_kind(study, i)) {
      continue;
    }
    const struct count count = count_kind(study, study->cells[i].kind);
    if (count.hurt > 0) {
      put_digest_row(grid, worst_of_kind(study, i), &count);
    } else if (count.failed < count.cells) {
      const size_t used = strlen(idle);
      (void)snprintf(idle + used, sizeof idle - used, "%s%s", used > 0 ? ", " : "",
                     study->cells[i].kind);
    }
  }
  (void)fputs("The worst cell of each fault\n", stream);
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 2, 0, stream);
  bw_grid_destroy(grid);
  if (status == BW_OK && idle[0] != '\0') {
    bw_wrap_print("Without effect wherever tried: ", idle, stream);
  }
  (void)fputc('\n', stream);
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

static void print_meaning(enum bw_fault_order order, FILE *stream) {
  char text[LINE_MAX_BYTES];
  (void)snprintf(
      text, sizeof text,
      "Each row is the worst start that was found in its condition, and the rows are "
      "sorted, both by %s. Against the sound car at the same moment: 'lost' deceleration, "
      "'for' how long a driver notices it, 'gained' unintended deceleration; 'further' "
      "at the end, 'left' the speed above its own where it ended. From the fault on: "
      "greatest slip, time with no grip (an axle asks for more than the road gives; "
      "with fidelity slip, a locked wheel), least margin of the axle balance, time "
      "until the demand is met again. 'at': the speed at the start; 'cells hurt': how many "
      "of the fault's cells differ from the sound car. '-': not reached or not judged.",
      ORDER_TEXTS[order]);
  (void)fputc('\n', stream);
  bw_wrap_print("", text, stream);
  (void)fputs(
      "Predictions for a hazard analysis: no rating, no ASIL is assigned here. They replace "
      "no test.\n",
      stream);
}

static void print_rest(const struct bw_fault_study *study, const struct count *count, size_t rows,
                       FILE *stream) {
  if (rows < count->hurt) {
    (void)fprintf(stream, "%zu more cells are not shown; --rows %zu shows all\n",
                  count->hurt - rows, count->hurt);
  }
  const size_t idle = count->cells - count->hurt - count->failed;
  if (idle > 0) {
    (void)fprintf(stream, "In %zu cell%s nothing happened: no difference to the sound car.\n", idle,
                  idle == 1 ? "" : "s");
  }
  for (size_t i = study->count - count->failed; i < study->count; i++) {
    char text[LINE_MAX_BYTES];
    (void)snprintf(text, sizeof text, "%s in C%zu failed: %s", study->cells[i].kind,
                   study->cells[i].condition + 1, study->cells[i].failure);
    bw_wrap_print("", text, stream);
  }
}

enum bw_status bw_fault_cells_print(const struct bw_fault_study *study, size_t rows, FILE *stream) {
  struct count count = {0};
  for (size_t i = 0; i < study->count; i++) {
    count_cell(&study->cells[i], &count);
  }
  if (count.hurt > 0) {
    BW_TRY(print_digest(study, stream));
    (void)fputs("All cells in which something happened, worst first\n", stream);
    BW_TRY(print_grid(study, rows, stream));
  }
  print_rest(study, &count, rows, stream);
  print_meaning(study->order, stream);
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}
