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
  bw_param_table_destroy(values->table);
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

const char *bw_param_text(const struct bw_param_values *values, const char *key) {
  const size_t index = bw_param_index(values->table, key);
  BW_ASSERT(index < bw_param_count(values->table));
  const char *text = values->value[index].text;
  return text != NULL ? text : bw_param_at(values->table, index)->choices;
}
