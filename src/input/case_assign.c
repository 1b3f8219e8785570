/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "input/case_loader.h"
#include "input/config_file.h"
#include "input/number.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WORD_SIZE = 64, WORDS_MAX = 16 };

void bw_loader_note(struct bw_case_loader *loader, enum bw_status status) {
  if (loader->status == BW_OK) {
    loader->status = status;
  }
}

static void refuse_memory(struct bw_case_loader *loader) {
  loader->status = bw_fail(loader->diag, BW_E_MEMORY, "out of memory for the case");
}

/* 'a number in km/h, 4 to 60', as the end of a message */
static void describe(const struct bw_param *param, char *text, size_t size) {
  switch (param->kind) {
  case BW_PARAM_NUMBER:
    (void)snprintf(text, size, "a number%s%s, %.15g to %.15g", param->unit[0] != '\0' ? " in " : "",
                   param->unit, param->min, param->max);
    break;
  case BW_PARAM_BOOL:
    (void)snprintf(text, size, "true or false");
    break;
  case BW_PARAM_CHOICE:
    (void)snprintf(text, size, "one of \"%s\"", param->choices);
    break;
  case BW_PARAM_TEXT:
    (void)snprintf(text, size, "a text in quotes");
    break;
  case BW_PARAM_TABLE:
    (void)snprintf(text, size, "the path of a CSV file or rows ((..), (..)) of %s", param->choices);
    break;
  }
}

void bw_assign_wrong_type(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                          const char *got) {
  const struct bw_param *param = bw_param_at(loader->values->table, index);
  char wanted[256];
  describe(param, wanted, sizeof wanted);
  BW_LOADER_FAIL(loader, place->file, place->line, "%s: %s stands there; give %s", param->key, got,
                 wanted);
}

/* the value's slot, if this place has the right to set it: the nearest to the case file wins */
static struct bw_param_value *claim(struct bw_case_loader *loader, size_t index,
                                    const struct bw_place *place) {
  struct bw_param_value *value = &loader->values->value[index];
  if (value->is_given && place->depth >= 0) {
    if (place->depth > value->depth) {
      return NULL;
    }
    if (place->depth == value->depth) {
      BW_LOADER_FAIL(loader, place->file, place->line,
                     "duplicate key '%s', also in %s:%d; keep one of the two",
                     bw_param_at(loader->values->table, index)->key, value->file, value->line);
      return NULL;
    }
  }
  char *file = bw_text_copy(place->file);
  if (file == NULL) {
    refuse_memory(loader);
    return NULL;
  }
  bw_free(value->file);
  bw_free(value->text);
  bw_table_rows_free(&value->rows);
  value->text = NULL;
  value->file = file;
  value->line = place->line;
  value->depth = place->depth;
  value->is_given = true;
  value->is_set = true;
  return value;
}

void bw_assign_number(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                      double number) {
  const struct bw_param *param = bw_param_at(loader->values->table, index);
  if (param->kind != BW_PARAM_NUMBER) {
    bw_assign_wrong_type(loader, index, place, "a number");
    return;
  }
  struct bw_param_value *value = claim(loader, index, place);
  if (value == NULL) {
    return;
  }
  value->number = number;
  const char *blank = param->unit[0] != '\0' ? " " : "";
  if (!isfinite(number)) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "%s: %g is no finite number; give %.15g to %.15g%s%s", param->key, number,
                   param->min, param->max, blank, param->unit);
  } else if (number < param->min || number > param->max) {
    const bool is_below = number < param->min;
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "%s: %.15g is %s %.15g%s%s; give %.15g to %.15g%s%s", param->key, number,
                   is_below ? "below" : "above", is_below ? param->min : param->max, blank,
                   param->unit, param->min, param->max, blank, param->unit);
  }
}

void bw_assign_bool(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                    bool is_true) {
  if (bw_param_at(loader->values->table, index)->kind != BW_PARAM_BOOL) {
    bw_assign_wrong_type(loader, index, place, is_true ? "'true'" : "'false'");
    return;
  }
  struct bw_param_value *value = claim(loader, index, place);
  if (value != NULL) {
    value->number = is_true ? 1.0 : 0.0;
  }
}

static void assign_choice(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                          const char *text) {
  const struct bw_param *param = bw_param_at(loader->values->table, index);
  struct bw_param_value *value = claim(loader, index, place);
  if (value == NULL) {
    return;
  }
  char words[WORDS_MAX][WORD_SIZE];
  const char *candidates[WORDS_MAX];
  size_t count = 0;
  while (count < WORDS_MAX && bw_word_at(param->choices, count, words[count], WORD_SIZE)) {
    candidates[count] = words[count];
    if (strcmp(words[count], text) == 0) {
      value->number = (double)count;
      return;
    }
    count++;
  }
  const size_t nearest = bw_nearest(text, candidates, count);
  BW_LOADER_FAIL(loader, place->file, place->line, "%s: '%.80s' is unknown; give one of %s%s%s",
                 param->key, text, param->choices, nearest < count ? ", perhaps " : "",
                 nearest < count ? candidates[nearest] : "");
}

static void assign_free_text(struct bw_case_loader *loader, size_t index,
                             const struct bw_place *place, const char *text) {
  const struct bw_param_row *row = bw_param_row_at(loader->values->table, index);
  struct bw_param_value *value = claim(loader, index, place);
  if (value == NULL) {
    return;
  }
  if (strlen(text) >= row->size) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "%s: text of %zu bytes is too long; give at most %zu", row->param.key,
                   strlen(text), row->size - 1);
    return;
  }
  if (row->param.is_required && text[0] == '\0') {
    BW_LOADER_FAIL(loader, place->file, place->line, "%s: empty text; give the %s", row->param.key,
                   row->param.help);
    return;
  }
  value->text = bw_text_copy(text);
  if (value->text == NULL) {
    refuse_memory(loader);
  }
}

void bw_assign_rows(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                    struct bw_table_rows *rows) {
  const struct bw_param_row *row = bw_param_row_at(loader->values->table, index);
  struct bw_param_value *value = claim(loader, index, place);
  const struct bw_table_check check = {.key = row->param.key,
                                       .columns = row->param.choices,
                                       .file = place->file,
                                       .is_grid = row->store == BW_STORE_TABLE2};
  const enum bw_status status = bw_table_check(rows, &check, loader->diag);
  if (status != BW_OK) {
    bw_loader_note(loader, status);
  }
  if (status != BW_OK || value == NULL) {
    bw_table_rows_free(rows);
    return;
  }
  value->rows = *rows;
  *rows = (struct bw_table_rows){0};
}

static void assign_table_path(struct bw_case_loader *loader, size_t index,
                              const struct bw_place *place, const char *text) {
  const struct bw_param *param = bw_param_at(loader->values->table, index);
  char path[BW_PATH_MAX];
  if (text[0] == '\0') {
    /* an empty path takes an included table away again */
    struct bw_param_value *value = claim(loader, index, place);
    if (value != NULL && param->is_required) {
      bw_assign_wrong_type(loader, index, place, "an empty text");
    }
    return;
  }
  if (!bw_path_beside(place->base, text, path)) {
    BW_LOADER_FAIL(loader, place->file, place->line, "%s: path is too long; give at most %d bytes",
                   param->key, (int)BW_PATH_MAX - 1);
    return;
  }
  struct bw_table_rows rows = {0};
  const enum bw_status status = bw_table_read(path, param->choices, &rows, loader->diag);
  if (status != BW_OK) {
    bw_loader_note(loader, status);
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "%s: table '%.200s' was refused; mend it or name another file", param->key,
                   text);
    (void)claim(loader, index, place);
    return;
  }
  struct bw_place here = *place;
  here.file = path;
  here.line = rows.line[0];
  bw_assign_rows(loader, index, &here, &rows);
}

void bw_assign_text(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                    const char *text) {
  switch (bw_param_at(loader->values->table, index)->kind) {
  case BW_PARAM_CHOICE:
    assign_choice(loader, index, place, text);
    break;
  case BW_PARAM_TEXT:
    assign_free_text(loader, index, place, text);
    break;
  case BW_PARAM_TABLE:
    assign_table_path(loader, index, place, text);
    break;
  case BW_PARAM_NUMBER:
  case BW_PARAM_BOOL:
    bw_assign_wrong_type(loader, index, place, "a text");
    break;
  }
}
