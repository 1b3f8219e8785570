/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/assess_part.h"

#include "output/assess_table.h"
#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

enum {
  SOURCE_MAX = 600,
  PLACE_MAX = 160,
  NUMBERS_WIDTH = 66,
  WHERE_WIDTH = BW_PAGE_WIDTH - NUMBERS_WIDTH,
  NAMES_MOST = 3,
  NUMBER_MAX = 32
};

/* results without a limit alone */
static bool has_figure(const struct bw_assess_entry *entry) {
  const struct bw_assess_tally *tally = &entry->tally;
  return tally->worst == NULL && tally->told == NULL && tally->greatest != NULL;
}

/* the row of an entry that is shown: never a requirement without a line */
static const struct bw_assess_row *shown(const struct bw_assess_entry *entry) {
  const struct bw_assess_tally *tally = &entry->tally;
  const struct bw_assess_row *judged = tally->worst != NULL ? tally->worst : tally->told;
  return judged != NULL ? judged : tally->open;
}

/* of judged rows, else of those told; what was not assessed stands apart */
static void put_outcome(const struct bw_assess_tally *tally, char *text, size_t size) {
  if (tally->worst == NULL && tally->told == NULL) {
    (void)snprintf(text, size, "n/a %zu", tally->unassessed);
  } else if (tally->worst == NULL) {
    (void)snprintf(text, size, "told %zu", tally->information);
  } else if (tally->missed > 0) {
    (void)snprintf(text, size, "missed %zu/%zu", tally->missed, tally->missed + tally->kept);
  } else {
    (void)snprintf(text, size, "kept %zu", tally->kept);
  }
}

/* also missed by: names of other strategies, the first few */
static void put_others(const struct bw_assessment *assessment, const struct bw_assess_entry *entry,
                       char *text, size_t size) {
  const struct bw_assess_row *row = shown(entry);
  const struct bw_blend_strategy *last = NULL;
  size_t names = 0;
  size_t length = 0;
  text[0] = '\0';
  for (size_t i = 0; i < assessment->count; i++) {
    const struct bw_assess_row *other = &assessment->rows[i];
    if (other->requirement != entry->requirement || other->is_information ||
        !(other->margin < 0.0) || other->strategy == row->strategy || other->strategy == last) {
      continue;
    }
    last = other->strategy;
    if (names < NAMES_MOST) {
      const int added =
          snprintf(text + length, size - length, "%s%s", names == 0 ? "; missed too by " : ", ",
                   bw_assess_strategy_text(other));
      length += added > 0 && (size_t)added < size - length ? (size_t)added : 0;
    }
    names++;
  }
  if (names > NAMES_MOST) {
    (void)snprintf(text + length, size - length, " and %zu more", names - NAMES_MOST);
  }
}

/* strategy, load and condition of the row that is shown; the strategy alone where that is too long
 * for the line, with the rest in front of the source below */
static void put_where(const struct bw_assess_row *row, char *where, size_t size, char *rest) {
  const int length = snprintf(where, size, "%s, %s, %s", bw_assess_strategy_text(row),
                              bw_assess_load_text(row), bw_assess_condition_text(row));
  rest[0] = '\0';
  if (length > WHERE_WIDTH) {
    (void)snprintf(where, size, "%s", bw_assess_strategy_text(row));
    (void)snprintf(rest, size, "%s, %s: ", bw_assess_load_text(row), bw_assess_condition_text(row));
  }
}

/* what stands on the line below: source, how sure, and who else */
static void put_source(const struct bw_assessment *assessment, const struct bw_assess_entry *entry,
                       char text[SOURCE_MAX]) {
  char where[PLACE_MAX];
  char rest[PLACE_MAX];
  put_where(shown(entry), where, sizeof where, rest);
  const struct bw_requirement *requirement = entry->requirement;
  char others[160];
  put_others(assessment, entry, others, sizeof others);
  const int length =
      snprintf(text, SOURCE_MAX, "%s%s %s, %s%s", rest, requirement->source, requirement->paragraph,
               bw_certainty_text(requirement->certainty), others);
  const bool is_judged = entry->tally.worst != NULL || entry->tally.told != NULL;
  if (is_judged && entry->tally.unassessed > 0 && length > 0 && length < SOURCE_MAX) {
    (void)snprintf(text + length, (size_t)(SOURCE_MAX - length), "; %zu not assessed",
                   entry->tally.unassessed);
  }
}

static void print_columns(FILE *stream) {
  (void)fprintf(stream, "\n  %-18s %7s %7s %7s %-5s %-12s %s\n", "Requirement", "limit", "result",
                "margin", "in", "outcome", "worst where; source, how sure");
  for (int i = 0; i < BW_PAGE_WIDTH; i++) {
    (void)fputc(i < 2 ? ' ' : '-', stream);
  }
  (void)fputc('\n', stream);
}

/* '-' where there is no number */
static void put_number(double value, int places, char text[NUMBER_MAX]) {
  (void)snprintf(text, NUMBER_MAX, "-");
  if (isfinite(value)) {
    (void)snprintf(text, NUMBER_MAX, "%.*f", places, value + 0.0);
  }
}

static void print_numbers(const struct bw_assess_entry *entry, FILE *stream) {
  const struct bw_requirement *requirement = entry->requirement;
  const struct bw_assess_row *row = shown(entry);
  const int places = bw_figure_places(requirement->figure);
  char outcome[48];
  char line[256];
  char where[PLACE_MAX];
  char rest[PLACE_MAX];
  char number[3][NUMBER_MAX];
  put_outcome(&entry->tally, outcome, sizeof outcome);
  put_number(row->limit, places, number[0]);
  put_number(row->result, places, number[1]);
  put_number(row->margin, places, number[2]);
  (void)snprintf(line, sizeof line, "  %-18s %7s %7s %7s %-5s %-12s ", requirement->name, number[0],
                 number[1], number[2], bw_figure_unit(requirement->figure), outcome);
  put_where(row, where, sizeof where, rest);
  bw_wrap_print(line, where, stream);
}

enum bw_status bw_assess_print_limits(const struct bw_assessment *assessment,
                                      const struct bw_assess_entry *entries, size_t count,
                                      FILE *stream) {
  const char *title = "";
  char source[2][SOURCE_MAX] = {"", ""};
  print_columns(stream);
  for (size_t i = 0; i < count; i++) {
    const struct bw_assess_entry *entry = &entries[i];
    if (has_figure(entry)) {
      continue;
    }
    put_source(assessment, entry, source[0]);
    const bool is_new = strcmp(title, entry->title) != 0;
    /* lines of one source share the line that names it */
    if (source[1][0] != '\0' && (is_new || strcmp(source[0], source[1]) != 0)) {
      bw_wrap_print("      ", source[1], stream);
    }
    if (is_new) {
      (void)fprintf(stream, "%s\n", entry->title);
      title = entry->title;
    }
    print_numbers(entry, stream);
    memcpy(source[1], source[0], sizeof source[1]);
  }
  if (source[1][0] != '\0') {
    bw_wrap_print("      ", source[1], stream);
  }
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}

static void put_figure(struct bw_grid *grid, const struct bw_assess_entry *entry) {
  const struct bw_assess_tally *tally = &entry->tally;
  const int places = bw_figure_places(entry->requirement->figure);
  const struct bw_assess_row *most = tally->greatest;
  char where[128];
  (void)snprintf(where, sizeof where, "%s, %s, %s", bw_assess_strategy_text(most),
                 bw_assess_load_text(most), bw_assess_condition_text(most));
  bw_grid_put(grid, entry->requirement->name);
  bw_assess_put_number(grid, tally->least->result, places);
  bw_assess_put_number(grid, most->result, places);
  bw_grid_put(grid, bw_figure_unit(entry->requirement->figure));
  bw_grid_put(grid, where);
}

static bool is_same_source(const struct bw_requirement *a, const struct bw_requirement *b) {
  return strcmp(a->source, b->source) == 0 && strcmp(a->paragraph, b->paragraph) == 0 &&
         a->certainty == b->certainty;
}

static enum bw_status print_of_source(const struct bw_assess_entry *entries, size_t from,
                                      size_t until, FILE *stream) {
  enum { COLUMNS = 5 };
  const struct bw_requirement *source = entries[from].requirement;
  struct bw_grid *grid = bw_grid_create(COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  for (size_t i = 3; i < COLUMNS; i++) {
    bw_grid_align_left(grid, i);
  }
  for (size_t i = from; i < until; i++) {
    if (has_figure(&entries[i])) {
      put_figure(grid, &entries[i]);
    }
  }
  (void)fprintf(stream, "%s: %s %s, %s\n", entries[from].title, source->source, source->paragraph,
                bw_certainty_text(source->certainty));
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 0, 2, stream);
  bw_grid_destroy(grid);
  return status;
}

enum bw_status bw_assess_print_figures(const struct bw_assess_entry *entries, size_t count,
                                       FILE *stream) {
  bool is_first = true;
  for (size_t i = 0; i < count; i++) {
    if (!has_figure(&entries[i])) {
      continue;
    }
    if (is_first) {
      (void)fputs("\nFigures without a limit: least and most, where the most is\n", stream);
      is_first = false;
    }
    size_t until = i + 1;
    while (until < count && strcmp(entries[until].title, entries[i].title) == 0 &&
           is_same_source(entries[until].requirement, entries[i].requirement)) {
      until++;
    }
    BW_TRY(print_of_source(entries, i, until, stream));
    i = until - 1;
  }
  return BW_OK;
}
