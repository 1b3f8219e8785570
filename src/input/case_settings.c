/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "input/case_loader.h"
#include "input/config_file.h"

#include <stdio.h>
#include <string.h>

enum { KEY_SIZE = 192 };

void bw_case_refuse_key(struct bw_case_loader *loader, const struct bw_place *place,
                        const char *key) {
  const char *nearest = bw_param_nearest(loader->values->table, key);
  if (nearest != NULL) {
    BW_LOADER_FAIL(loader, place->file, place->line, "unknown key '%.160s'; did you mean '%s'?",
                   key, nearest);
  } else {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "unknown key '%.160s'; see brakeweave list parameters", key);
  }
}

static bool is_number(const config_setting_t *setting, double *number) {
  switch (config_setting_type(setting)) {
  case CONFIG_TYPE_INT:
    *number = config_setting_get_int(setting);
    return true;
  case CONFIG_TYPE_INT64:
    *number = (double)config_setting_get_int64(setting);
    return true;
  case CONFIG_TYPE_FLOAT:
    *number = config_setting_get_float(setting);
    return true;
  default:
    return false;
  }
}

static const char *type_text(const config_setting_t *setting) {
  switch (config_setting_type(setting)) {
  case CONFIG_TYPE_GROUP:
    return "a group";
  case CONFIG_TYPE_INT:
  case CONFIG_TYPE_INT64:
  case CONFIG_TYPE_FLOAT:
    return "a number";
  case CONFIG_TYPE_STRING:
    return "a text";
  case CONFIG_TYPE_BOOL:
    return "true or false";
  case CONFIG_TYPE_ARRAY:
  case CONFIG_TYPE_LIST:
    return "a list";
  default:
    return "nothing";
  }
}

static int line_of(const config_setting_t *setting) {
  return (int)config_setting_source_line(setting);
}

/* the row `setting` of a typed table into place `i`; reports what is wrong with it */
static bool take_row(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                     config_setting_t *setting, struct bw_table_rows *rows, size_t i) {
  const struct bw_place here = {.file = place->file, .line = line_of(setting)};
  if (!config_setting_is_aggregate(setting)) {
    BW_LOADER_FAIL(loader, here.file, here.line, "%s: row %zu is %s; give a row of %zu numbers",
                   key, i + 1, type_text(setting), rows->columns);
    return false;
  }
  if ((size_t)config_setting_length(setting) != rows->columns) {
    BW_LOADER_FAIL(loader, here.file, here.line, "%s: row %zu has %d cells; give %zu", key, i + 1,
                   config_setting_length(setting), rows->columns);
    return false;
  }
  rows->line[i] = here.line;
  for (size_t j = 0; j < rows->columns; j++) {
    const config_setting_t *cell = config_setting_get_elem(setting, (unsigned)j);
    if (!is_number(cell, &rows->cell[i * rows->columns + j])) {
      BW_LOADER_FAIL(loader, here.file, line_of(cell), "%s: %s stands in row %zu; give a number",
                     key, type_text(cell), i + 1);
      return false;
    }
  }
  return true;
}

static size_t column_count(const config_setting_t *list, const char *columns) {
  struct bw_table_shape shapes[BW_SHAPES_MAX];
  const size_t shape_count = bw_table_shapes(columns, shapes);
  const config_setting_t *first = config_setting_get_elem(list, 0);
  const size_t cells = first != NULL && config_setting_is_aggregate(first)
                           ? (size_t)config_setting_length(first)
                           : 0;
  for (size_t i = 0; i < shape_count; i++) {
    if (shapes[i].columns == cells) {
      return cells;
    }
  }
  return shapes[0].columns;
}

static void take_table(struct bw_case_loader *loader, const struct bw_place *place, size_t index,
                       const config_setting_t *list) {
  const struct bw_param *param = bw_param_at(loader->values->table, index);
  const size_t count = (size_t)config_setting_length(list);
  if (count == 0) {
    bw_assign_wrong_type(loader, index, place, "an empty list");
    return;
  }
  struct bw_table_rows rows = {0};
  if (!bw_table_rows_make(&rows, column_count(list, param->choices), count)) {
    bw_loader_note(loader, bw_fail(loader->diag, BW_E_MEMORY, "out of memory for a table"));
    return;
  }
  bool is_good = true;
  for (size_t i = 0; i < count; i++) {
    config_setting_t *row = config_setting_get_elem(list, (unsigned)i);
    is_good = take_row(loader, place, param->key, row, &rows, i) && is_good;
  }
  if (is_good) {
    bw_assign_rows(loader, index, place, &rows);
  } else {
    bw_table_rows_free(&rows);
  }
}

static void take_value(struct bw_case_loader *loader, const struct bw_place *place, size_t index,
                       const config_setting_t *setting) {
  double number = 0.0;
  const int type = config_setting_type(setting);
  const bool is_table = bw_param_at(loader->values->table, index)->kind == BW_PARAM_TABLE;
  if (is_number(setting, &number)) {
    bw_assign_number(loader, index, place, number);
  } else if (type == CONFIG_TYPE_BOOL) {
    bw_assign_bool(loader, index, place, config_setting_get_bool(setting) == CONFIG_TRUE);
  } else if (type == CONFIG_TYPE_STRING) {
    bw_assign_text(loader, index, place, config_setting_get_string(setting));
  } else if (is_table && (type == CONFIG_TYPE_LIST || type == CONFIG_TYPE_ARRAY)) {
    take_table(loader, place, index, setting);
  } else {
    bw_assign_wrong_type(loader, index, place, type_text(setting));
  }
  /* a refused value is there all the same: it shall not be called missing too */
  loader->values->value[index].is_set = true;
}

static void take_accept(struct bw_case_loader *loader, const struct bw_place *place,
                        const config_setting_t *group) {
  if (config_setting_type(group) != CONFIG_TYPE_GROUP) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "accept: %s stands there; give a group of limits such as { "
                   "dip_peak_mps2_max = 0.5; }",
                   type_text(group));
    return;
  }
  for (int i = 0; i < config_setting_length(group); i++) {
    const config_setting_t *limit = config_setting_get_elem(group, (unsigned)i);
    struct bw_place here = *place;
    here.line = line_of(limit);
    double number = 0.0;
    if (is_number(limit, &number)) {
      bw_accept_take(loader, &here, config_setting_name(limit), number);
    } else {
      BW_LOADER_FAIL(loader, here.file, here.line, "accept.%s: %s stands there; give a number",
                     config_setting_name(limit), type_text(limit));
    }
  }
}

static void take_strategies(struct bw_case_loader *loader, const struct bw_place *place,
                            const config_setting_t *setting) {
  if (config_setting_type(setting) == CONFIG_TYPE_STRING) {
    bw_strategy_take(loader, place, config_setting_get_string(setting));
    return;
  }
  if (!config_setting_is_list(setting) && !config_setting_is_array(setting)) {
    BW_LOADER_FAIL(loader, place->file, place->line,
                   "strategies: %s stands there; give \"all\" or a list of names",
                   type_text(setting));
    return;
  }
  for (int i = 0; i < config_setting_length(setting); i++) {
    const config_setting_t *name = config_setting_get_elem(setting, (unsigned)i);
    struct bw_place here = *place;
    here.line = line_of(name);
    if (config_setting_type(name) == CONFIG_TYPE_STRING) {
      bw_strategy_take(loader, &here, config_setting_get_string(name));
    } else {
      BW_LOADER_FAIL(loader, here.file, here.line,
                     "strategies: %s stands in the list; give names in quotes", type_text(name));
    }
  }
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as keys have dots */
static void take_tolerances(struct bw_case_loader *loader, const struct bw_place *place,
                            const config_setting_t *setting, const char *key) {
  struct bw_place here = *place;
  here.line = line_of(setting);
  if (config_setting_type(setting) == CONFIG_TYPE_STRING && key[0] != '\0') {
    bw_tolerance_take(loader, &here, key, config_setting_get_string(setting));
    return;
  }
  if (config_setting_type(setting) != CONFIG_TYPE_GROUP) {
    BW_LOADER_FAIL(loader, here.file, here.line,
                   "tolerances%s%.120s: %s stands there; give a distribution in quotes such as "
                   "\"normal:3\"",
                   key[0] != '\0' ? "." : "", key, type_text(setting));
    return;
  }
  for (int i = 0; i < config_setting_length(setting); i++) {
    const config_setting_t *inner = config_setting_get_elem(setting, (unsigned)i);
    char name[KEY_SIZE];
    const int length = snprintf(name, sizeof name, "%s%s%s", key, key[0] != '\0' ? "." : "",
                                config_setting_name(inner));
    if (length < 0 || length >= KEY_SIZE) {
      BW_LOADER_FAIL(loader, here.file, line_of(inner),
                     "tolerances.%.80s...: key is too long; see brakeweave list parameters", name);
      return;
    }
    take_tolerances(loader, place, inner, name);
  }
}

static void walk(struct bw_case_loader *loader, const struct bw_place *place,
                 const config_setting_t *group, const char *prefix);

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the known groups */
static void take_setting(struct bw_case_loader *loader, const struct bw_place *place,
                         const config_setting_t *setting, const char *key) {
  const struct bw_param_table *table = loader->values->table;
  const size_t index = bw_param_index(table, key);
  if (index < bw_param_count(table)) {
    take_value(loader, place, index, setting);
  } else if (strcmp(key, "accept") == 0) {
    take_accept(loader, place, setting);
  } else if (strcmp(key, "tolerances") == 0) {
    take_tolerances(loader, place, setting, "");
  } else if (strcmp(key, "strategies") == 0) {
    take_strategies(loader, place, setting);
  } else if (config_setting_type(setting) != CONFIG_TYPE_GROUP) {
    if (bw_param_is_group(table, key)) {
      BW_LOADER_FAIL(loader, place->file, place->line,
                     "%s: %s stands there; give a group %s: { key = value; }", key,
                     type_text(setting), key);
    } else {
      bw_case_refuse_key(loader, place, key);
    }
  } else if (bw_param_is_group(table, key)) {
    walk(loader, place, setting, key);
  } else {
    const char *nearest = bw_param_nearest_group(table, key);
    BW_LOADER_FAIL(loader, place->file, place->line, "unknown group '%.160s'; %s%s%s", key,
                   nearest != NULL ? "did you mean '" : "see brakeweave list parameters",
                   nearest != NULL ? nearest : "", nearest != NULL ? "'?" : "");
  }
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the known groups */
static void walk(struct bw_case_loader *loader, const struct bw_place *place,
                 const config_setting_t *group, const char *prefix) {
  for (int i = 0; i < config_setting_length(group); i++) {
    const config_setting_t *setting = config_setting_get_elem(group, (unsigned)i);
    struct bw_place here = *place;
    here.line = line_of(setting);
    char key[KEY_SIZE];
    const char *name = config_setting_name(setting);
    const int length =
        snprintf(key, sizeof key, "%s%s%s", prefix, prefix[0] != '\0' ? "." : "", name);
    if (length < 0 || length >= KEY_SIZE) {
      BW_LOADER_FAIL(loader, here.file, here.line,
                     "key '%.80s...' is too long; see brakeweave list "
                     "parameters",
                     key);
      continue;
    }
    take_setting(loader, &here, setting, key);
  }
}

static void read_file(struct bw_case_loader *loader, const char *path, const struct bw_place *from);

static bool is_included_before(const struct bw_config_file *file, size_t index) {
  for (size_t i = 0; i < index; i++) {
    if (strcmp(file->include[i].path, file->include[index].path) == 0) {
      return true;
    }
  }
  return false;
}

/* NOLINTNEXTLINE(misc-no-recursion): at most BW_CONFIG_DEPTH_MAX deep */
static void read_includes(struct bw_case_loader *loader, const struct bw_config_file *file,
                          int depth) {
  for (size_t i = 0; i < file->include_count; i++) {
    const struct bw_config_include *include = &file->include[i];
    if (depth + 1 > BW_CONFIG_DEPTH_MAX) {
      BW_LOADER_FAIL(loader, file->path, include->line,
                     "more than %d files include one another; look for a file that includes itself",
                     (int)BW_CONFIG_DEPTH_MAX);
      loader->is_incomplete = true;
      return;
    }
    if (is_included_before(file, i)) {
      BW_LOADER_FAIL(loader, file->path, include->line,
                     "'%s' is included twice; keep one of the two", include->path);
      continue;
    }
    const struct bw_place from = {.file = file->path, .line = include->line, .depth = depth + 1};
    read_file(loader, include->path, &from);
  }
}

/* what is included comes first, the file's own settings win over it */
/* NOLINTNEXTLINE(misc-no-recursion): at most BW_CONFIG_DEPTH_MAX deep */
static void read_file(struct bw_case_loader *loader, const char *path,
                      const struct bw_place *from) {
  struct bw_config_file *file = bw_alloc(1, sizeof *file);
  if (file == NULL) {
    bw_loader_note(loader, bw_fail(loader->diag, BW_E_MEMORY, "out of memory for %s", path));
    return;
  }
  config_t config;
  config_init(&config);
  const enum bw_status status =
      bw_config_file_read(path, from->file, from->line, file, loader->diag);
  bw_loader_note(loader, status);
  loader->is_incomplete = loader->is_incomplete || status != BW_OK;
  if (file->text != NULL && status == BW_OK) {
    read_includes(loader, file, from->depth);
    const struct bw_place here = {.file = file->path, .depth = from->depth, .base = file->path};
    const enum bw_status parsed = bw_config_file_parse(file, &config, loader->diag);
    bw_loader_note(loader, parsed);
    loader->is_incomplete = loader->is_incomplete || parsed != BW_OK;
    if (parsed == BW_OK) {
      walk(loader, &here, config_root_setting(&config), "");
    }
  }
  config_destroy(&config);
  bw_config_file_free(file);
  bw_free(file);
}

void bw_case_read_files(struct bw_case_loader *loader) {
  const struct bw_place from = {.depth = 0};
  read_file(loader, loader->path, &from);
}
