/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/assess_page.h"

#include "alloc.h"
#include "output/assess_digest.h"
#include "output/assess_part.h"
#include "output/assess_table.h"
#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

enum { INDENT = 2, NEAREST_MOST = 5, REASONS_MOST = 8 };

static const double PERCENT = 100.0;

static enum bw_status put_verdict(struct bw_grid *grid, const struct bw_assessment *assessment,
                                  size_t from, size_t until) {
  struct bw_assess_tally tally = {0};
  for (size_t i = from; i < until; i++) {
    bw_assess_tally_add(&tally, &assessment->rows[i]);
  }
  const struct bw_assess_row *worst = tally.worst;
  bw_grid_put(grid, bw_assess_strategy_text(&assessment->rows[from]));
  bw_grid_putf(grid, "%zu", tally.kept);
  bw_grid_putf(grid, "%zu", tally.missed);
  bw_grid_putf(grid, "%zu", tally.information);
  bw_grid_putf(grid, "%zu", tally.unassessed);
  if (worst == NULL) {
    for (int i = 0; i < 4; i++) {
      bw_grid_put(grid, "-");
    }
    return BW_OK;
  }
  const double room = PERCENT * bw_assess_room(worst);
  bw_assess_put_number(grid, worst->margin, bw_figure_places(worst->requirement->figure));
  bw_grid_put(grid, bw_figure_unit(worst->requirement->figure));
  bw_assess_put_number(grid, room, 1);
  bw_grid_put(grid, worst->requirement->name);
  return BW_OK;
}

static enum bw_status print_verdicts(const struct bw_assessment *assessment, FILE *stream) {
  enum { COLUMNS = 9 };
  static const char *const header[COLUMNS] = {"strategy", "kept", "missed",     "told",    "not",
                                              "margin",   "in",   "% of limit", "worst at"};
  struct bw_grid *grid = bw_grid_create(COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 6);
  bw_grid_align_left(grid, COLUMNS - 1);
  for (size_t i = 0; i < COLUMNS; i++) {
    bw_grid_put(grid, header[i]);
  }
  size_t from = 0;
  enum bw_status status = BW_OK;
  while (from < assessment->count && status == BW_OK) {
    size_t until = from;
    while (until < assessment->count &&
           assessment->rows[until].strategy == assessment->rows[from].strategy) {
      until++;
    }
    status = put_verdict(grid, assessment, from, until);
    from = until;
  }
  (void)fputs(
      "\nVerdict: rows kept, missed, told (no limit binds), not assessed (n/a); the least margin\n",
      stream);
  status = status == BW_OK ? bw_grid_print(grid, BW_GRID_TEXT, 1, INDENT, stream) : status;
  bw_grid_destroy(grid);
  return status;
}

static void put_near(struct bw_grid *grid, const struct bw_assess_near *near) {
  const struct bw_assess_row *row = near->row;
  const int places = bw_figure_places(row->requirement->figure);
  char text[128];
  bw_grid_put(grid, row->requirement->name);
  (void)snprintf(text, sizeof text, "%s", bw_assess_strategy_text(row));
  if (near->strategies > 1) {
    (void)snprintf(text, sizeof text, "%s +%zu", bw_assess_strategy_text(row),
                   near->strategies - 1);
  }
  bw_grid_put(grid, text);
  (void)snprintf(text, sizeof text, "%s, %s", bw_assess_load_text(row),
                 bw_assess_condition_text(row));
  bw_grid_put(grid, text);
  bw_assess_put_number(grid, row->limit, places);
  bw_assess_put_number(grid, row->result, places);
  bw_assess_put_number(grid, row->margin, places);
  bw_grid_put(grid, bw_figure_unit(row->requirement->figure));
}

static enum bw_status print_grid_of(const struct bw_assess_near *nearest, size_t count,
                                    FILE *stream) {
  enum { COLUMNS = 7 };
  static const char *const header[COLUMNS] = {"requirement", "strategy", "condition", "limit",
                                              "result",      "margin",   "in"};
  struct bw_grid *grid = bw_grid_create(COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 1);
  bw_grid_align_left(grid, 2);
  bw_grid_align_left(grid, COLUMNS - 1);
  for (size_t i = 0; i < COLUMNS; i++) {
    bw_grid_put(grid, header[i]);
  }
  for (size_t i = 0; i < count; i++) {
    put_near(grid, &nearest[i]);
  }
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 1, INDENT, stream);
  bw_grid_destroy(grid);
  return status;
}

/* what is known of why, one line per note, requirements that share it in front */
static void print_why(const struct bw_assess_near *nearest, size_t count, FILE *stream) {
  enum { TEXT_MAX = 600 };
  for (size_t k = 0; k < count; k++) {
    const char *note = nearest[k].row->note;
    char text[TEXT_MAX] = "";
    size_t length = 0;
    bool is_first = note[0] != '\0';
    for (size_t i = 0; i < count; i++) {
      const struct bw_assess_row *row = nearest[i].row;
      if (strcmp(row->note, note) != 0) {
        continue;
      }
      is_first = is_first && i >= k;
      const int added = snprintf(text + length, TEXT_MAX - length, "%s%s", length > 0 ? ", " : "",
                                 row->requirement->name);
      length += added > 0 && (size_t)added < TEXT_MAX - length ? (size_t)added : 0;
    }
    if (is_first) {
      (void)snprintf(text + length, TEXT_MAX - length, ": %s", note);
      bw_wrap_print("  ", text, stream);
    }
  }
}

/* all that were missed, the nearest of those kept */
static enum bw_status print_near(const struct bw_assessment *assessment, bool is_missed,
                                 FILE *stream) {
  size_t count = 0;
  struct bw_assess_near *nearest = bw_assess_nearest(assessment, is_missed, &count);
  if (nearest == NULL) {
    return BW_E_MEMORY;
  }
  enum bw_status status = BW_OK;
  if (count == 0 && is_missed) {
    (void)fputs("\nMissed: nothing that was assessed\n", stream);
  }
  if (count > 0) {
    (void)fprintf(stream, "\n%s\n",
                  is_missed ? "Missed: the worst row of each requirement; +n: n more strategies"
                            : "Kept, nearest to their limits");
    const size_t most = !is_missed && count > NEAREST_MOST ? NEAREST_MOST : count;
    status = print_grid_of(nearest, most, stream);
  }
  if (is_missed) {
    print_why(nearest, count, stream);
  }
  bw_free(nearest);
  return status;
}

/* whether two notes say the same but for their numbers */
static bool is_alike(const char *a, const char *b) {
  static const char number[] = "0123456789.+-";
  for (;;) {
    a += strspn(a, number);
    b += strspn(b, number);
    if (*a != *b || *a == '\0') {
      return *a == *b;
    }
    a++;
    b++;
  }
}

static bool has_reason(const struct bw_assess_row *row) {
  return !isfinite(row->result) && row->note[0] != '\0';
}

/* earlier rows of the same requirement tell the same */
static bool is_told(const struct bw_assessment *assessment, size_t index, bool same_requirement) {
  const struct bw_assess_row *row = &assessment->rows[index];
  for (size_t i = 0; i < index; i++) {
    const struct bw_assess_row *other = &assessment->rows[i];
    if (has_reason(other) && is_alike(other->note, row->note) &&
        (!same_requirement || other->requirement == row->requirement)) {
      return true;
    }
  }
  return false;
}

static void print_reason(const struct bw_assessment *assessment, size_t first, FILE *stream) {
  const struct bw_assess_row *row = &assessment->rows[first];
  char others[32] = "";
  char text[640];
  size_t rows = 0;
  size_t names = 0;
  for (size_t i = first; i < assessment->count; i++) {
    const struct bw_assess_row *other = &assessment->rows[i];
    if (has_reason(other) && is_alike(other->note, row->note)) {
      names += is_told(assessment, i, true) ? 0 : 1;
      rows++;
    }
  }
  if (names > 1) {
    (void)snprintf(others, sizeof others, " and %zu more", names - 1);
  }
  (void)snprintf(text, sizeof text, "%zu rows of %s%s; as %s, %s, %s: %s", rows,
                 row->requirement->name, others, bw_assess_strategy_text(row),
                 bw_assess_load_text(row), bw_assess_condition_text(row), row->note);
  bw_wrap_print("  ", text, stream);
}

static void print_reasons(const struct bw_assessment *assessment, FILE *stream) {
  size_t reasons = 0;
  for (size_t i = 0; i < assessment->count; i++) {
    if (!has_reason(&assessment->rows[i]) || is_told(assessment, i, false)) {
      continue;
    }
    if (reasons == 0) {
      (void)fputs("\nNot assessed\n", stream);
    }
    if (reasons < REASONS_MOST) {
      print_reason(assessment, i, stream);
    }
    reasons++;
  }
  if (reasons > REASONS_MOST) {
    (void)fprintf(stream, "  and %zu more reasons: --full or --out\n",
                  reasons - (size_t)REASONS_MOST);
  }
}

enum bw_status bw_assess_print_page(const struct bw_assessment *assessment, FILE *stream) {
  BW_TRY(print_verdicts(assessment, stream));
  BW_TRY(print_near(assessment, true, stream));
  BW_TRY(print_near(assessment, false, stream));
  size_t count = 0;
  struct bw_assess_entry *entries = bw_assess_entries(assessment, &count);
  if (entries == NULL) {
    return BW_E_MEMORY;
  }
  enum bw_status status = bw_assess_print_limits(assessment, entries, count, stream);
  if (status == BW_OK) {
    status = bw_assess_print_figures(entries, count, stream);
  }
  bw_free(entries);
  print_reasons(assessment, stream);
  return status;
}
