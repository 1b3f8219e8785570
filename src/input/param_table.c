/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "input/number.h"
#include "input/param_row.h"
#include "input/unit.h"
#include "strategies/registry.h"

#include <stdio.h>
#include <string.h>

enum { GROUP_LENGTH = 64, KEY_LENGTH = 160 };

struct bw_param_table {
  size_t count;
  struct bw_param_row *row;         /* (count) */
  const char **key;                 /* (count) */
  char (*strategy_key)[KEY_LENGTH]; /* (strategy rows) */
  size_t group_count;
  char (*group)[GROUP_LENGTH]; /* (count at most) */
  const char **group_name;     /* (group_count) */
  size_t strategy_count;
  const struct bw_blend_strategy **strategy; /* (strategy_count) built-in, then extra ones */
};

static size_t strategy_row_count(const struct bw_extra_strategies *extra) {
  size_t count = 0;
  for (size_t i = 0; i < bw_strategy_count(); i++) {
    count += bw_strategy_at(i)->param_count + bw_strategy_at(i)->table_count;
  }
  for (size_t i = 0; i < extra->count; i++) {
    count += extra->strategy[i]->param_count + extra->strategy[i]->table_count;
  }
  return count;
}

static void collect_strategies(struct bw_param_table *table,
                               const struct bw_extra_strategies *extra) {
  for (size_t i = 0; i < bw_strategy_count(); i++) {
    table->strategy[table->strategy_count++] = bw_strategy_at(i);
  }
  for (size_t i = 0; i < extra->count; i++) {
    table->strategy[table->strategy_count++] = extra->strategy[i];
  }
}

static void add_rows(struct bw_param_table *table, struct bw_param_rows rows) {
  for (size_t i = 0; i < rows.count; i++) {
    table->row[table->count++] = rows.row[i];
  }
}

/* key strategy.NAME.LEAF in the table's own memory */
static const char *strategy_key(struct bw_param_table *table, size_t *used, const char *name,
                                const char *leaf) {
  char *key = table->strategy_key[(*used)++];
  const int length = snprintf(key, KEY_LENGTH, "strategy.%s.%s", name, leaf);
  BW_ASSERT(length > 0 && length < KEY_LENGTH);
  return key;
}

static void add_strategies(struct bw_param_table *table) {
  size_t used = 0;
  for (size_t i = 0; i < table->strategy_count; i++) {
    const struct bw_blend_strategy *strategy = table->strategy[i];
    for (size_t j = 0; j < strategy->param_count; j++) {
      const struct bw_blend_param *param = &strategy->params[j];
      const char *key = strategy_key(table, &used, strategy->name, param->name);
      table->row[table->count++] =
          (struct bw_param_row){.param = {.key = key,
                                          .kind = BW_PARAM_NUMBER,
                                          .unit = bw_unit_of_name(param->name)->text,
                                          .min = param->min,
                                          .max = param->max,
                                          .fallback = param->fallback,
                                          .choices = "",
                                          .help = param->help},
                                .store = BW_STORE_NONE};
    }
    for (size_t j = 0; j < strategy->table_count; j++) {
      const struct bw_blend_table_need *need = &strategy->tables[j];
      const char *key = strategy_key(table, &used, strategy->name, need->name);
      table->row[table->count++] = (struct bw_param_row){.param = {.key = key,
                                                                   .kind = BW_PARAM_TABLE,
                                                                   .unit = "",
                                                                   .choices = need->columns,
                                                                   .help = need->help},
                                                         .store = BW_STORE_NONE};
    }
  }
}

bool bw_param_is_group(const struct bw_param_table *table, const char *prefix) {
  for (size_t i = 0; i < table->group_count; i++) {
    if (strcmp(table->group[i], prefix) == 0) {
      return true;
    }
  }
  return false;
}

static void add_groups(struct bw_param_table *table) {
  for (size_t i = 0; i < table->count; i++) {
    const char *key = table->row[i].param.key;
    for (const char *dot = strchr(key, '.'); dot != NULL; dot = strchr(dot + 1, '.')) {
      char name[GROUP_LENGTH];
      const size_t length = (size_t)(dot - key);
      BW_ASSERT(length < GROUP_LENGTH);
      memcpy(name, key, length);
      name[length] = '\0';
      if (!bw_param_is_group(table, name)) {
        memcpy(table->group[table->group_count++], name, length + 1);
      }
    }
  }
}

static bool allocate(struct bw_param_table *table, size_t total, size_t strategies,
                     size_t strategy_rows) {
  table->row = bw_alloc(total, sizeof *table->row);
  table->key = bw_alloc(total, sizeof *table->key);
  table->strategy_key = bw_alloc(strategy_rows, sizeof *table->strategy_key);
  table->strategy = bw_alloc(strategies, sizeof(const struct bw_blend_strategy *));
  table->group = bw_alloc(total, sizeof *table->group);
  table->group_name = bw_alloc(total, sizeof *table->group_name);
  return table->row != NULL && table->key != NULL && table->strategy_key != NULL &&
         table->strategy != NULL && table->group != NULL && table->group_name != NULL;
}

struct bw_param_table *bw_param_table_create(void) {
  return bw_param_table_create_with(NULL);
}

struct bw_param_table *bw_param_table_create_with(const struct bw_extra_strategies *extra) {
  static const struct bw_extra_strategies no_extra = {0, NULL};
  extra = extra != NULL ? extra : &no_extra;
  const struct bw_param_rows parts[] = {
      bw_params_run(),      bw_params_vehicle(), bw_params_machine(),    bw_params_battery(),
      bw_params_friction(), bw_params_rotor(),   bw_params_hydraulics(), bw_params_slip(),
      bw_params_park(),     bw_params_fault(),   bw_params_sensor()};
  const size_t part_count = sizeof parts / sizeof parts[0];
  const size_t strategy_rows = strategy_row_count(extra);
  size_t total = strategy_rows;
  for (size_t i = 0; i < part_count; i++) {
    total += parts[i].count;
  }
  struct bw_param_table *table = bw_alloc(1, sizeof *table);
  if (table == NULL) {
    return NULL;
  }
  if (!allocate(table, total, bw_strategy_count() + extra->count, strategy_rows)) {
    bw_param_table_destroy(table);
    return NULL;
  }
  for (size_t i = 0; i < part_count; i++) {
    add_rows(table, parts[i]);
  }
  collect_strategies(table, extra);
  add_strategies(table);
  add_groups(table);
  for (size_t i = 0; i < table->count; i++) {
    table->key[i] = table->row[i].param.key;
  }
  for (size_t i = 0; i < table->group_count; i++) {
    table->group_name[i] = table->group[i];
  }
  return table;
}

void bw_param_table_destroy(struct bw_param_table *table) {
  if (table != NULL) {
    bw_free(table->row);
    bw_free(table->key);
    bw_free(table->strategy_key);
    bw_free(table->strategy);
    bw_free(table->group);
    bw_free(table->group_name);
    bw_free(table);
  }
}

const struct bw_blend_strategy *bw_param_strategy(const struct bw_param_table *table,
                                                  const char *name) {
  for (size_t i = 0; i < table->strategy_count; i++) {
    if (strcmp(table->strategy[i]->name, name) == 0) {
      return table->strategy[i];
    }
  }
  return NULL;
}

size_t bw_param_count(const struct bw_param_table *table) {
  return table->count;
}

const struct bw_param_row *bw_param_row_at(const struct bw_param_table *table, size_t index) {
  return index < table->count ? &table->row[index] : NULL;
}

const struct bw_param *bw_param_at(const struct bw_param_table *table, size_t index) {
  return index < table->count ? &table->row[index].param : NULL;
}

size_t bw_param_index(const struct bw_param_table *table, const char *key) {
  for (size_t i = 0; i < table->count; i++) {
    if (strcmp(table->row[i].param.key, key) == 0) {
      return i;
    }
  }
  return table->count;
}

const struct bw_param *bw_param_find(const struct bw_param_table *table, const char *key) {
  return bw_param_at(table, bw_param_index(table, key));
}

const char *bw_param_nearest(const struct bw_param_table *table, const char *key) {
  const size_t index = bw_nearest(key, table->key, table->count);
  return index < table->count ? table->key[index] : NULL;
}

const char *bw_param_nearest_group(const struct bw_param_table *table, const char *prefix) {
  const size_t index = bw_nearest(prefix, table->group_name, table->group_count);
  return index < table->group_count ? table->group_name[index] : NULL;
}
