/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "input/case_loader.h"
#include "input/config_file.h"
#include "input/number.h"
#include "input/strategy_table.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { WORD_SIZE = 64, WORDS_MAX = 16, MESSAGE_SIZE = 480 };

void bw_loader_note(struct bw_case_loader *loader, enum bw_status status) {
  if (loader->status == BW_OK) {
    loader->status = status;
  }
}

static void fail_keyed(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                       const char *message) {
  const bool is_named = place->line == 0 && strncmp(place->file, "--set ", 6) == 0;
  if (is_named) {
    BW_LOADER_FAIL(loader, place->file, 0, "%s", message);
  } else {
    BW_LOADER_FAIL(loader, place->file, place->line, "%s: %s", key, message);
  }
}

void bw_loader_fail_at(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                       const char *format, ...) {
  char message[MESSAGE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(message, sizeof message, format, arguments);
  va_end(arguments);
  fail_keyed(loader, place, key, message);
}

void bw_loader_fail_key(struct bw_case_loader *loader, const char *key, const char *format, ...) {
  char message[MESSAGE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(message, sizeof message, format, arguments);
  va_end(arguments);
  const struct bw_param_value *value = bw_param_value(loader->values, key);
  const bool is_placed = value->is_given && value->file != NULL;
  const struct bw_place place = {.file = is_placed ? value->file : loader->path,
                                 .line = is_placed ? value->line : 0};
  fail_keyed(loader, &place, key, message);
}

static void refuse_memory(struct bw_case_loader *loader) {
  loader->status = bw_fail(loader->diag, BW_E_MEMORY, "out of memory for the case");
}

void bw_param_describe(const struct bw_param *param, char *text, size_t size) {
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
  bw_param_describe(param, wanted, sizeof wanted);
  bw_loader_fail_at(loader, place, param->key, "%s stands there; give %s", got, wanted);
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
    bw_loader_fail_at(loader, place, param->key, "%g is no finite number; give %.15g to %.15g%s%s",
                      number, param->min, param->max, blank, param->unit);
  } else if (number < param->min || number > param->max) {
    const bool is_below = number < param->min;
    bw_loader_fail_at(loader, place, param->key, "%.15g is %s %.15g%s%s; give %.15g to %.15g%s%s",
                      number, is_below ? "below" : "above", is_below ? param->min : param->max,
                      blank, param->unit, param->min, param->max, blank, param->unit);
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
  bw_loader_fail_at(loader, place, param->key, "'%.80s' is unknown; give one of %s%s%s", text,
                    param->choices, nearest < count ? ", perhaps " : "",
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
    bw_loader_fail_at(loader, place, row->param.key,
                      "text of %zu bytes is too long; give at most %zu", strlen(text),
                      row->size - 1);
    return;
  }
  if (row->param.is_required && text[0] == '\0') {
    bw_loader_fail_at(loader, place, row->param.key, "empty text; give the %s", row->param.help);
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
  const enum bw_status status = row->store == BW_STORE_NONE
                                    ? bw_strategy_table_check(rows, &check, loader->diag)
                                    : bw_table_check(rows, &check, loader->diag);
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
    bw_loader_fail_at(loader, place, param->key, "path is too long; give at most %d bytes",
                      (int)BW_PATH_MAX - 1);
    return;
  }
  struct bw_table_rows rows = {0};
  const enum bw_status status = bw_table_read(path, param->choices, &rows, loader->diag);
  if (status != BW_OK) {
    bw_loader_note(loader, status);
    bw_loader_fail_at(loader, place, param->key,
                      "table '%.200s' was refused; mend it or name another file", text);
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
