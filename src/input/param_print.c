/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

enum { KEY_SIZE = 160, WORD_SIZE = 64, DEPTH_MAX = 4, NUMBER_SIZE = 40 };

/* 17 significant digits, with a point so that the reader of case files takes it as a real */
static void format_number(double number, char text[NUMBER_SIZE]) {
  (void)snprintf(text, NUMBER_SIZE - 2, "%.17g", number);
  if (strpbrk(text, ".e") == NULL) {
    strcat(text, ".0"); /* NOLINT: two bytes are left */
  }
}

static void write_quoted(const char *text, FILE *stream) {
  (void)fputc('"', stream);
  for (const char *c = text; *c != '\0'; c++) {
    if (*c == '"' || *c == '\\') {
      (void)fprintf(stream, "\\%c", *c);
    } else if (iscntrl((unsigned char)*c)) {
      (void)fprintf(stream, "\\x%02x", (unsigned char)*c);
    } else {
      (void)fputc(*c, stream);
    }
  }
  (void)fputc('"', stream);
}

static void write_rows(const struct bw_table_rows *rows, FILE *stream) {
  (void)fputs("(\n", stream);
  for (size_t i = 0; i < rows->count; i++) {
    (void)fputs("    (", stream);
    for (size_t j = 0; j < rows->columns; j++) {
      char text[NUMBER_SIZE];
      format_number(rows->cell[i * rows->columns + j], text);
      (void)fprintf(stream, "%s%s", j > 0 ? ", " : "", text);
    }
    (void)fprintf(stream, ")%s\n", i + 1 < rows->count ? "," : "");
  }
  (void)fputs("  )", stream);
}

static const char *text_of(const struct bw_case *loaded, const struct bw_param *param,
                           const struct bw_param_value *value) {
  if (strcmp(param->key, "case.name") == 0) {
    return loaded->name;
  }
  return value->text != NULL ? value->text : param->choices;
}

static void write_value(const struct bw_case *loaded, const struct bw_param *param,
                        const struct bw_param_value *value, FILE *stream) {
  char text[WORD_SIZE];
  switch (param->kind) {
  case BW_PARAM_NUMBER:
    format_number(value->number, text);
    (void)fputs(text, stream);
    break;
  case BW_PARAM_BOOL:
    (void)fputs(value->number > 0.5 ? "true" : "false", stream);
    break;
  case BW_PARAM_CHOICE:
    BW_ASSERT(bw_word_at(param->choices, (size_t)value->number, text, sizeof text));
    write_quoted(text, stream);
    break;
  case BW_PARAM_TEXT:
    write_quoted(text_of(loaded, param, value), stream);
    break;
  case BW_PARAM_TABLE:
    write_rows(&value->rows, stream);
    break;
  }
}

/* tables that were not given and values that nothing asks for are left out */
static bool is_written(const struct bw_param *param, const struct bw_param_value *value) {
  return value->is_set && (param->kind != BW_PARAM_TABLE || value->rows.count > 0);
}

/* bytes that `a` and `b` share as whole groups, the dot included */
static size_t shared_groups(const char *a, const char *b) {
  size_t shared = 0;
  for (size_t i = 0; a[i] != '\0' && a[i] == b[i]; i++) {
    if (a[i] == '.') {
      shared = i + 1;
    }
  }
  return shared;
}

static size_t dots(const char *text, size_t length) {
  size_t count = 0;
  for (size_t i = 0; i < length; i++) {
    count += text[i] == '.';
  }
  return count;
}

static void indent(size_t depth, FILE *stream) {
  (void)fprintf(stream, "%*s", (int)(2 * depth), "");
}

/* close the groups of `before` and open those of `key`; returns the leaf of `key` */
static const char *move_groups(const char *before, const char *key, FILE *stream) {
  const size_t shared = shared_groups(before, key);
  for (size_t i = dots(before, strlen(before)); i > dots(before, shared); i--) {
    indent(i - 1, stream);
    (void)fputs("};\n", stream);
  }
  size_t depth = dots(key, shared);
  const char *at = key + shared;
  for (const char *dot = strchr(at, '.'); dot != NULL; dot = strchr(at, '.')) {
    indent(depth++, stream);
    (void)fprintf(stream, "%.*s: {\n", (int)(dot - at), at);
    at = dot + 1;
  }
  return at;
}

/* a group may stand once only: the table's order keeps the keys of each group together */
static void write_params(const struct bw_case *loaded, FILE *stream) {
  const struct bw_param_values *values = loaded->values;
  const char *before = "";
  for (size_t i = 0; i < bw_param_count(values->table); i++) {
    const struct bw_param *param = bw_param_at(values->table, i);
    const struct bw_param_value *value = &values->value[i];
    if (!is_written(param, value)) {
      continue;
    }
    const char *leaf = move_groups(before, param->key, stream);
    before = param->key;
    indent(dots(param->key, strlen(param->key)), stream);
    (void)fprintf(stream, "%s = ", leaf);
    write_value(loaded, param, value, stream);
    (void)fprintf(stream, "; # %s%s%s\n", param->unit, param->unit[0] != '\0' ? "; " : "",
                  param->help);
  }
  (void)move_groups(before, "", stream);
}

static const struct bw_tolerance *find_tolerance(const struct bw_case *loaded, const char *key) {
  for (size_t i = 0; i < loaded->tolerance_count; i++) {
    if (strcmp(loaded->tolerance[i].key, key) == 0) {
      return &loaded->tolerance[i];
    }
  }
  return NULL;
}

/* nested like the keys themselves, in the table's order */
static void write_tolerances(const struct bw_case *loaded, FILE *stream) {
  char before[KEY_SIZE] = "";
  for (size_t i = 0; i < bw_param_count(loaded->values->table) && loaded->tolerance_count > 0;
       i++) {
    const char *key = bw_param_at(loaded->values->table, i)->key;
    const struct bw_tolerance *tolerance = find_tolerance(loaded, key);
    if (tolerance == NULL) {
      continue;
    }
    char nested[KEY_SIZE];
    (void)snprintf(nested, sizeof nested, "tolerances.%s", key);
    const char *leaf = move_groups(before, nested, stream);
    indent(dots(nested, strlen(nested)), stream);
    (void)fprintf(stream, "%s = ", leaf);
    write_quoted(tolerance->text, stream);
    (void)fputs(";\n", stream);
    memcpy(before, nested, sizeof before);
  }
  (void)move_groups(before, "", stream);
}

static void write_lists(const struct bw_case *loaded, FILE *stream) {
  if (loaded->strategy_count > 0) {
    (void)fputs("strategies = (", stream);
    for (size_t i = 0; i < loaded->strategy_count; i++) {
      (void)fputs(i > 0 ? ", " : "", stream);
      write_quoted(loaded->strategies[i]->name, stream);
    }
    (void)fputs(");\n", stream);
  }
  if (loaded->accept_count == 0) {
    return;
  }
  (void)fputs("accept: {\n", stream);
  for (size_t i = 0; i < loaded->accept_count; i++) {
    const struct bw_accept *accept = &loaded->accept[i];
    char text[NUMBER_SIZE];
    if (accept->has_min) {
      format_number(accept->min, text);
      (void)fprintf(stream, "  %s_min = %s;\n", accept->column, text);
    }
    if (accept->has_max) {
      format_number(accept->max, text);
      (void)fprintf(stream, "  %s_max = %s;\n", accept->column, text);
    }
  }
  (void)fputs("};\n", stream);
}

bool bw_param_write_resolved(const struct bw_case *loaded, FILE *stream) {
  (void)fputs("# Every parameter of the run as it was used. Running this file again gives the same "
              "results.\n",
              stream);
  write_params(loaded, stream);
  write_tolerances(loaded, stream);
  write_lists(loaded, stream);
  return ferror(stream) == 0;
}

/* what belongs to a machine that is not there says nothing to people */
static bool is_idle_machine(const struct bw_case *loaded, const char *key) {
  static const char *const prefix[] = {"machine.front.", "machine.rear."};
  for (int i = 0; i < BW_AXLES; i++) {
    const size_t length = strlen(prefix[i]);
    if (strncmp(key, prefix[i], length) == 0 && strcmp(key + length, "fitted") != 0) {
      return !loaded->machine[i].is_fitted;
    }
  }
  return false;
}

static void print_value(const struct bw_case *loaded, const struct bw_param *param,
                        const struct bw_param_value *value, char *text, size_t size) {
  switch (param->kind) {
  case BW_PARAM_NUMBER:
    (void)snprintf(text, size, "%.10g", value->number);
    break;
  case BW_PARAM_BOOL:
    (void)snprintf(text, size, "%s", value->number > 0.5 ? "true" : "false");
    break;
  case BW_PARAM_CHOICE:
    BW_ASSERT(bw_word_at(param->choices, (size_t)value->number, text, size));
    break;
  case BW_PARAM_TEXT:
    (void)snprintf(text, size, "%s", text_of(loaded, param, value));
    for (char *c = text; *c != '\0'; c++) {
      *c = iscntrl((unsigned char)*c) ? '?' : *c;
    }
    break;
  case BW_PARAM_TABLE:
    (void)snprintf(text, size, "%zu rows", value->rows.count);
    break;
  }
}

bool bw_param_print_resolved(const struct bw_case *loaded, FILE *stream) {
  const struct bw_param_values *values = loaded->values;
  int key_width = 0;
  for (size_t i = 0; i < bw_param_count(values->table); i++) {
    const int length = (int)strlen(bw_param_at(values->table, i)->key);
    key_width = length > key_width ? length : key_width;
  }
  for (size_t i = 0; i < bw_param_count(values->table); i++) {
    const struct bw_param *param = bw_param_at(values->table, i);
    if (!is_written(param, &values->value[i]) || is_idle_machine(loaded, param->key)) {
      continue;
    }
    char text[BW_PATH_MAX];
    print_value(loaded, param, &values->value[i], text, sizeof text);
    if (param->kind == BW_PARAM_TEXT) {
      (void)fprintf(stream, "%-*s = %s\n", key_width, param->key, text);
    } else {
      (void)fprintf(stream, "%-*s = %13s %-10s %s\n", key_width, param->key, text, param->unit,
                    param->help);
    }
  }
  for (size_t i = 0; i < loaded->accept_count; i++) {
    const struct bw_accept *accept = &loaded->accept[i];
    (void)fprintf(stream, "accept.%s:", accept->column);
    if (accept->has_min) {
      (void)fprintf(stream, " at least %.10g", accept->min);
    }
    if (accept->has_max) {
      (void)fprintf(stream, "%s at most %.10g", accept->has_min ? "," : "", accept->max);
    }
    (void)fputc('\n', stream);
  }
  for (size_t i = 0; i < loaded->tolerance_count; i++) {
    (void)fprintf(stream, "tolerances.%s: %s\n", loaded->tolerance[i].key,
                  loaded->tolerance[i].text);
  }
  return ferror(stream) == 0;
}
