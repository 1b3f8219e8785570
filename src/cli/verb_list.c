/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "report_diag.h"
#include "verbs.h"

#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"format", "FORMAT", "text (default), csv or markdown", 'f', false},
    {"strategy", "NAME", "only this strategy, or ./PATH.so, and its parameters; may be given again",
     't', true},
    BW_OPTION_DEADLINE,
    BW_OPTION_HELP,
};

/* terminal columns: most ranges fit; a longer list of words or columns shifts its own row only */
enum { RANGE_WIDTH = 24 };

static const double KMH_PER_MPS = 3.6;

/** Strategies that were asked for. */
struct wanted {
  size_t count;
  const struct bw_blend_strategy **strategy; /**< (count) owned */
  struct bw_controllers controllers;
};

static void put_header(struct bw_grid *grid, const char *const *names, size_t count) {
  for (size_t i = 0; i < count; i++) {
    bw_grid_put(grid, names[i]);
    bw_grid_align_left(grid, i);
  }
}

static struct bw_grid *make_grid(const char *const *names, size_t count) {
  struct bw_grid *grid = bw_grid_create(count);
  if (grid != NULL) {
    put_header(grid, names, count);
  }
  return grid;
}

static struct bw_grid *list_strategies(const struct wanted *wanted) {
  static const char *const names[] = {"strategy", "what_it_does"};
  struct bw_grid *grid = make_grid(names, 2);
  for (size_t i = 0; i < wanted->count && grid != NULL; i++) {
    bw_grid_put(grid, wanted->strategy[i]->name);
    bw_grid_put(grid, wanted->strategy[i]->summary);
  }
  if (wanted->count > 0) {
    return grid;
  }
  for (size_t i = 0; i < bw_strategy_count() && grid != NULL; i++) {
    bw_grid_put(grid, bw_strategy_at(i)->name);
    bw_grid_put(grid, bw_strategy_at(i)->summary);
  }
  return grid;
}

static const char *word_of(bool is_true) {
  return is_true ? "true" : "false";
}

/* word `index` of "a|b|c" */
static void put_choice(struct bw_grid *grid, const char *choices, size_t index) {
  for (; index > 0 && strchr(choices, '|') != NULL; index--) {
    choices = strchr(choices, '|') + 1;
  }
  bw_grid_putf(grid, "%.*s", (int)strcspn(choices, "|"), choices);
}

static void put_default_and_range(struct bw_grid *grid, const struct bw_param *param) {
  const char *required = param->is_required ? "required" : NULL;
  switch (param->kind) {
  case BW_PARAM_NUMBER:
    bw_grid_putf(grid, required != NULL ? "%s" : "%s%.10g", required != NULL ? required : "",
                 param->fallback);
    bw_grid_putf(grid, "%.10g to %.10g", param->min, param->max);
    return;
  case BW_PARAM_BOOL:
    bw_grid_put(grid, required != NULL ? required : word_of(param->fallback > 0.5));
    bw_grid_put(grid, "true or false");
    return;
  case BW_PARAM_CHOICE:
    if (required != NULL) {
      bw_grid_put(grid, required);
    } else {
      put_choice(grid, param->choices, (size_t)param->fallback);
    }
    bw_grid_put(grid, param->choices);
    return;
  case BW_PARAM_TEXT:
    bw_grid_put(grid, required != NULL ? required : param->choices);
    bw_grid_put(grid, "text");
    return;
  case BW_PARAM_TABLE:
    bw_grid_put(grid, required != NULL ? required : "");
    bw_grid_putf(grid, "table %s", param->choices);
    return;
  }
}

/* is `key` a parameter of one of the strategies asked for */
static bool is_wanted(const struct wanted *wanted, const char *key) {
  static const char prefix[] = "strategy.";
  bool is_among = wanted->count == 0;
  for (size_t i = 0; i < wanted->count && !is_among; i++) {
    const char *name = wanted->strategy[i]->name;
    const size_t length = strlen(name);
    is_among = strncmp(key, prefix, sizeof prefix - 1) == 0 &&
               strncmp(key + sizeof prefix - 1, name, length) == 0 &&
               key[sizeof prefix - 1 + length] == '.';
  }
  return is_among;
}

static struct bw_grid *list_parameters(const struct wanted *wanted) {
  static const char *const names[] = {"key", "unit", "default", "range", "meaning"};
  const struct bw_extra_strategies extra = bw_controllers_extra(&wanted->controllers);
  struct bw_param_table *table = bw_param_table_create_with(&extra);
  struct bw_grid *grid = table != NULL ? make_grid(names, 5) : NULL;
  if (grid != NULL) {
    bw_grid_limit(grid, 3, RANGE_WIDTH);
  }
  for (size_t i = 0; grid != NULL && i < bw_param_count(table); i++) {
    const struct bw_param *param = bw_param_at(table, i);
    if (!is_wanted(wanted, param->key)) {
      continue;
    }
    bw_grid_put(grid, param->key);
    bw_grid_put(grid, param->unit);
    put_default_and_range(grid, param);
    bw_grid_put(grid, param->help);
  }
  bw_param_table_destroy(table);
  return grid;
}

static struct bw_grid *list_cycles(const struct wanted *wanted) {
  (void)wanted;
  static const char *const names[] = {"cycle", "duration_s", "distance_km", "speed_max_kmh",
                                      "source"};
  struct bw_grid *grid = make_grid(names, 5);
  for (size_t i = 0; i < bw_cycle_count() && grid != NULL; i++) {
    const struct bw_cycle_entry *entry = bw_cycle_at(i);
    bw_grid_put(grid, entry->name);
    bw_grid_putf(grid, "%.0f", entry->duration);
    bw_grid_putf(grid, "%.3f", entry->distance * 1e-3);
    bw_grid_putf(grid, "%.1f", entry->speed_max * KMH_PER_MPS);
    bw_grid_put(grid, entry->source);
  }
  return grid;
}

static const char *worse_end(enum bw_summary_column column) {
  switch (bw_summary_worst(column)) {
  case BW_WORST_LOW:
    return "low";
  case BW_WORST_HIGH:
    return "high";
  case BW_WORST_NONE:
    break;
  }
  return "";
}

static struct bw_grid *list_columns(const struct wanted *wanted) {
  (void)wanted;
  static const char *const names[] = {"column", "worst_is", "meaning"};
  static const char *const texts[][2] = {
      {"strategy", "name of the strategy"},
      {"verdict", "kept, missed, not ranked or failed"},
      {"verdict_reason", "why the verdict is not 'kept'"},
      {"balance_rule", "balance rule that the slope came from"},
  };
  struct bw_grid *grid = make_grid(names, 3);
  for (size_t i = 0; i < sizeof texts / sizeof texts[0] && grid != NULL; i++) {
    bw_grid_put(grid, texts[i][0]);
    bw_grid_put(grid, "");
    bw_grid_put(grid, texts[i][1]);
  }
  for (int i = 0; i < BW_SUMMARY_COUNT && grid != NULL; i++) {
    bw_grid_put(grid, bw_summary_name((enum bw_summary_column)i));
    bw_grid_put(grid, worse_end((enum bw_summary_column)i));
    bw_grid_put(grid, bw_summary_help((enum bw_summary_column)i));
  }
  if (grid != NULL) {
    bw_grid_put(grid, "non_dominated");
    bw_grid_put(grid, "");
    bw_grid_put(grid, "1: keeps every limit, and no other that does is as good in energy_battery, "
                      "dip_peak and axle_margin_worst and better in one; 0: not so");
  }
  return grid;
}

enum topic { STRATEGIES, PARAMETERS, CYCLES, COLUMNS, TOPIC_COUNT };

static const char *const TOPICS[TOPIC_COUNT] = {
    [STRATEGIES] = "strategies",
    [PARAMETERS] = "parameters",
    [CYCLES] = "cycles",
    [COLUMNS] = "columns",
};
static struct bw_grid *(*const LISTS[TOPIC_COUNT])(const struct wanted *wanted) = {
    [STRATEGIES] = list_strategies,
    [PARAMETERS] = list_parameters,
    [CYCLES] = list_cycles,
    [COLUMNS] = list_columns,
};

static enum bw_status find_word(const char *what, const char *word, const char *const *words,
                                size_t count, size_t *index, struct bw_diag *diag) {
  for (*index = 0; *index < count; (*index)++) {
    if (strcmp(word, words[*index]) == 0) {
      return BW_OK;
    }
  }
  const size_t nearest = bw_nearest(word, words, count);
  if (nearest < count) {
    return bw_fail(diag, BW_E_USAGE, "unknown %s '%s'; did you mean '%s'?", what, word,
                   words[nearest]);
  }
  return bw_fail(diag, BW_E_USAGE, "unknown %s '%s'; 'brakeweave list --help' tells what there is",
                 what, word);
}

static enum bw_status find_wanted(const struct bw_arguments *arguments, size_t topic,
                                  struct wanted *wanted, struct bw_diag *diag) {
  BW_TRY(bw_controllers_load(arguments, &wanted->controllers, diag));
  wanted->strategy = bw_alloc(arguments->setting_count, sizeof(const struct bw_blend_strategy *));
  if (wanted->strategy == NULL) {
    return BW_E_MEMORY;
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "strategy") != 0) {
      continue;
    }
    const struct bw_blend_strategy **place = &wanted->strategy[wanted->count++];
    BW_TRY(bw_controllers_strategy(&wanted->controllers, setting->value, place, diag));
  }
  if (wanted->count > 0 && topic != STRATEGIES && topic != PARAMETERS) {
    return bw_fail(diag, BW_E_USAGE,
                   "option '--strategy' chooses among strategies and parameters; leave it out for "
                   "%s",
                   TOPICS[topic]);
  }
  return BW_OK;
}

static void free_wanted(struct wanted *wanted) {
  bw_free(wanted->strategy);
  bw_controllers_free(&wanted->controllers);
}

static enum bw_status print_list(const struct bw_arguments *arguments, size_t topic,
                                 enum bw_grid_format format, struct bw_diag *diag) {
  struct wanted wanted = {0};
  enum bw_status status = find_wanted(arguments, topic, &wanted, diag);
  if (status == BW_OK) {
    struct bw_grid *grid = LISTS[topic](&wanted);
    status = grid != NULL ? bw_grid_print(grid, format, 1, 0, stdout) : BW_E_MEMORY;
    bw_grid_destroy(grid);
  }
  free_wanted(&wanted);
  return status;
}

static int run(const struct bw_arguments *arguments) {
  static const char *const formats[] = {"text", "csv", "markdown"};
  static const enum bw_grid_format grid_formats[] = {BW_GRID_TEXT, BW_GRID_CSV, BW_GRID_MARKDOWN};
  const char *format = bw_arguments_value(arguments, "format");
  struct bw_diag diag = {0};
  size_t topic = 0;
  size_t chosen = 0;
  enum bw_status status =
      find_word("list", arguments->operands[0], TOPICS, TOPIC_COUNT, &topic, &diag);
  if (status == BW_OK && format != NULL) {
    status = find_word("format", format, formats, 3, &chosen, &diag);
  }
  if (status != BW_OK) {
    return bw_report_diag(&diag, status);
  }
  BW_ASSERT(topic < TOPIC_COUNT && chosen < sizeof formats / sizeof formats[0]);
  status = print_list(arguments, topic, grid_formats[chosen], &diag);
  if (status == BW_OK && topic == CYCLES && grid_formats[chosen] == BW_GRID_TEXT) {
    char data[BW_DATA_DIR_MAX];
    bw_data_dir(data);
    (void)printf("\nread from %s/cycles\n", data);
  }
  /* a failed write is told by main, once */
  return status == BW_OK || status == BW_E_IO ? 0 : bw_report_diag(&diag, status);
}

const struct bw_verb BW_VERB_LIST = {
    .name = "list",
    .purpose = "Print what there is: strategies, parameters, cycles or result columns",
    .example = "brakeweave list parameters",
    .usage = "strategies|parameters|cycles|columns [OPTIONS]",
    .details =
        "strategies  blending strategies and what they do\n"
        "parameters  keys of a case with unit, default, range and meaning\n"
        "cycles      published cycles by name, with figures and source\n"
        "columns     columns of summary.csv, on any of which a case may set a limit, and which\n"
        "            end of each is the worse one",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "list",
    .operand_count = 1,
    .run = run,
};
