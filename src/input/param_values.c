/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_values.h"

#include "alloc.h"

#include <string.h>

char *bw_text_copy(const char *text) {
  const size_t bytes = strlen(text) + 1;
  char *copy = bw_alloc(bytes, 1);
  if (copy != NULL) {
    memcpy(copy, text, bytes);
  }
  return copy;
}

void bw_text_replace(char **text, char *copy) {
  bw_free(*text);
  *text = copy;
}

bool bw_word_at(const char *words, size_t index, char *word, size_t size) {
  const char *start = words;
  for (size_t i = 0; i < index; i++) {
    start = strchr(start, '|');
    if (start == NULL) {
      return false;
    }
    start++;
  }
  const size_t length = strcspn(start, "|");
  if (length + 1 > size) {
    return false;
  }
  memcpy(word, start, length);
  word[length] = '\0';
  return true;
}

struct bw_param_values *bw_param_values_create(const struct bw_extra_strategies *extra) {
  struct bw_param_values *values = bw_alloc(1, sizeof *values);
  if (values == NULL) {
    return NULL;
  }
  values->table = bw_param_table_create_with(extra);
  if (values->table == NULL) {
    bw_param_values_destroy(values);
    return NULL;
  }
  const size_t count = bw_param_count(values->table);
  values->value = bw_alloc(count, sizeof *values->value);
  if (values->value == NULL) {
    bw_param_values_destroy(values);
    return NULL;
  }
  for (size_t i = 0; i < count; i++) {
    const struct bw_param *param = bw_param_at(values->table, i);
    values->value[i].is_set = !param->is_required;
    values->value[i].number = param->is_required ? 0.0 : param->fallback;
  }
  return values;
}

static bool copy_value(const struct bw_param_value *from, struct bw_param_value *to) {
  *to = *from;
  to->file = from->file != NULL ? bw_text_copy(from->file) : NULL;
  to->text = from->text != NULL ? bw_text_copy(from->text) : NULL;
  to->rows = (struct bw_table_rows){0};
  bool is_whole =
      (to->file != NULL) == (from->file != NULL) && (to->text != NULL) == (from->text != NULL);
  if (is_whole && from->rows.count > 0) {
    is_whole = bw_table_rows_make(&to->rows, from->rows.columns, from->rows.count);
    if (is_whole) {
      memcpy(to->rows.cell, from->rows.cell,
             from->rows.count * from->rows.columns * sizeof *to->rows.cell);
      memcpy(to->rows.line, from->rows.line, from->rows.count * sizeof *to->rows.line);
    }
  }
  return is_whole;
}

struct bw_param_values *bw_param_values_copy(const struct bw_param_values *values) {
  const size_t count = bw_param_count(values->table);
  struct bw_param_values *copy = bw_alloc(1, sizeof *copy);
  if (copy == NULL) {
    return NULL;
  }
  copy->table = values->table;
  copy->is_table_loan = true;
  copy->value = bw_alloc(count, sizeof *copy->value);
  bool is_whole = copy->value != NULL;
  for (size_t i = 0; i < count && is_whole; i++) {
    is_whole = copy_value(&values->value[i], &copy->value[i]);
  }
  if (!is_whole) {
    bw_param_values_destroy(copy);
    return NULL;
  }
  return copy;
}

void bw_param_values_destroy(struct bw_param_values *values) {
  if (values == NULL) {
    return;
  }
  if (values->value != NULL) {
    const size_t count = bw_param_count(values->table);
    for (size_t i = 0; i < count; i++) {
      bw_free(values->value[i].file);
      bw_free(values->value[i].text);
      bw_table_rows_free(&values->value[i].rows);
    }
  }
  bw_free(values->value);
  if (!values->is_table_loan) {
    bw_param_table_destroy(values->table);
  }
  bw_free(values);
}

struct bw_param_value *bw_param_value(const struct bw_param_values *values, const char *key) {
  const size_t index = bw_param_index(values->table, key);
  BW_ASSERT(index < bw_param_count(values->table));
  return &values->value[index];
}

double bw_param_number(const struct bw_param_values *values, const char *key) {
  return bw_param_value(values, key)->number;
}

int bw_param_index_of(const struct bw_param_values *values, const char *key) {
  return (int)bw_param_value(values, key)->number;
}
