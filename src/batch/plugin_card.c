/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/plugin_card.h"

#include "strategies/registry.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* where and how a contract is checked */
struct reading {
  const char *path;
  struct bw_diag *diag;
};

#define REFUSE(reading, ...)                                                                       \
  bw_fail_at((reading)->diag, BW_E_INPUT, (reading)->path, 0, __VA_ARGS__)

/* 1 .. size - 1 bytes, only of `allowed`, the first a letter */
static bool is_word(const char *text, size_t size, const char *allowed) {
  const size_t length = strnlen(text, size);
  return length > 0 && length < size && text[0] >= 'a' && text[0] <= 'z' &&
         strspn(text, allowed) == length;
}

static bool is_line(const char *text, size_t size) {
  const size_t length = strnlen(text, size);
  for (size_t i = 0; i < length; i++) {
    const unsigned char byte = (unsigned char)text[i];
    if (byte < 0x20 || byte == 0x7F) {
      return false;
    }
  }
  return length > 0 && length < size;
}

/* counted by hand: the same bytes must come out on every reading */
static void copy_text(char *to, size_t size, const char *from) {
  memset(to, 0, size);
  (void)snprintf(to, size, "%s", from);
}

static enum bw_status read_name(const struct reading *reading,
                                const struct bw_blend_strategy *strategy,
                                struct bw_plugin_card *card) {
  static const char *const letters = "abcdefghijklmnopqrstuvwxyz0123456789-";
  if (strategy->name == NULL || !is_word(strategy->name, BW_PLUGIN_NAME_MAX, letters)) {
    return REFUSE(reading,
                  "the strategy's name must be 1 to %d lower-case letters, digits and '-', a "
                  "letter first; mend .name",
                  (int)BW_PLUGIN_NAME_MAX - 1);
  }
  if (strcmp(strategy->name, "all") == 0 || bw_strategy_find(strategy->name) != NULL) {
    return REFUSE(reading, "the strategy's name '%s' is taken by the program; choose another .name",
                  strategy->name);
  }
  if (strategy->summary == NULL || !is_line(strategy->summary, BW_PLUGIN_HELP_MAX)) {
    return REFUSE(reading,
                  "the strategy's summary must be one line of 1 to %d bytes; mend .summary",
                  (int)BW_PLUGIN_HELP_MAX - 1);
  }
  copy_text(card->name, sizeof card->name, strategy->name);
  copy_text(card->summary, sizeof card->summary, strategy->summary);
  return BW_OK;
}

static enum bw_status read_param(const struct reading *reading, const struct bw_blend_param *param,
                                 size_t index, struct bw_plugin_card *card) {
  static const char *const letters = "abcdefghijklmnopqrstuvwxyz0123456789_";
  struct bw_plugin_param *out = &card->param[index];
  if (param->name == NULL || !is_word(param->name, BW_PLUGIN_PARAM_NAME_MAX, letters)) {
    return REFUSE(reading,
                  "parameter %zu: the name must be 1 to %d lower-case letters, digits and '_', a "
                  "letter first; mend .params",
                  index + 1, (int)BW_PLUGIN_PARAM_NAME_MAX - 1);
  }
  for (size_t i = 0; i < index; i++) {
    if (strcmp(card->param[i].name, param->name) == 0) {
      return REFUSE(reading, "parameter '%s' stands twice in the table; rename one of the two",
                    param->name);
    }
  }
  if (param->help == NULL || !is_line(param->help, BW_PLUGIN_HELP_MAX)) {
    return REFUSE(reading, "parameter '%s': the help must be one line of 1 to %d bytes; mend .help",
                  param->name, (int)BW_PLUGIN_HELP_MAX - 1);
  }
  const bool is_finite = isfinite(param->min) && isfinite(param->max) && isfinite(param->fallback);
  if (!is_finite || param->min > param->fallback || param->fallback > param->max) {
    return REFUSE(reading,
                  "parameter '%s': default %g does not lie in its range %g to %g; mend .params",
                  param->name, param->fallback, param->min, param->max);
  }
  copy_text(out->name, sizeof out->name, param->name);
  copy_text(out->help, sizeof out->help, param->help);
  out->min = param->min;
  out->max = param->max;
  out->fallback = param->fallback;
  return BW_OK;
}

/* axes and the value: two to BW_BLEND_TABLE_AXES + 1 names with commas between */
static bool are_columns(const char *text) {
  size_t count = 1;
  const size_t length = strnlen(text, BW_PLUGIN_HELP_MAX);
  for (size_t i = 0; i < length; i++) {
    const bool is_start = i == 0 || text[i - 1] == ',';
    const bool is_letter = text[i] >= 'a' && text[i] <= 'z';
    const bool is_other = (text[i] >= '0' && text[i] <= '9') || text[i] == '_' || text[i] == ',';
    if (!is_letter && (is_start || !is_other)) {
      return false;
    }
    count += text[i] == ',';
  }
  return length > 0 && length < BW_PLUGIN_HELP_MAX && text[length - 1] != ',' && count >= 2 &&
         count <= BW_BLEND_TABLE_AXES + 1;
}

static bool is_name_taken(const struct bw_plugin_card *card, const char *name, size_t tables) {
  bool is_taken = false;
  for (size_t i = 0; i < card->param_count; i++) {
    is_taken = is_taken || strcmp(card->param[i].name, name) == 0;
  }
  for (size_t i = 0; i < tables; i++) {
    is_taken = is_taken || strcmp(card->table[i].name, name) == 0;
  }
  return is_taken;
}

static enum bw_status read_table(const struct reading *reading,
                                 const struct bw_blend_table_need *table, size_t index,
                                 struct bw_plugin_card *card) {
  static const char *const letters = "abcdefghijklmnopqrstuvwxyz0123456789_";
  if (table->name == NULL || !is_word(table->name, BW_PLUGIN_PARAM_NAME_MAX, letters) ||
      is_name_taken(card, table->name, index)) {
    return REFUSE(reading,
                  "table %zu: the name must be lower-case letters, digits and '_' and stand once; "
                  "mend .tables",
                  index + 1);
  }
  if (table->columns == NULL || !are_columns(table->columns)) {
    return REFUSE(reading,
                  "table '%s': the columns must be two to %d names such as speed_kmh,front_share; "
                  "mend .columns",
                  table->name, BW_BLEND_TABLE_AXES + 1);
  }
  if (table->help == NULL || !is_line(table->help, BW_PLUGIN_HELP_MAX)) {
    return REFUSE(reading, "table '%s': the help must be one line of 1 to %d bytes; mend .help",
                  table->name, (int)BW_PLUGIN_HELP_MAX - 1);
  }
  copy_text(card->table[index].name, sizeof card->table[index].name, table->name);
  copy_text(card->table[index].columns, sizeof card->table[index].columns, table->columns);
  copy_text(card->table[index].help, sizeof card->table[index].help, table->help);
  return BW_OK;
}

static enum bw_status read_tables(const struct reading *reading,
                                  const struct bw_blend_strategy *strategy,
                                  struct bw_plugin_card *card) {
  const size_t count = strategy->table_count;
  if (count > BW_PLUGIN_TABLES_MAX || (count > 0 && strategy->tables == NULL)) {
    return REFUSE(reading, "%zu tables with %s list; give at most %d in .tables", count,
                  strategy->tables == NULL ? "no" : "a", (int)BW_PLUGIN_TABLES_MAX);
  }
  for (size_t i = 0; i < count; i++) {
    BW_TRY(read_table(reading, &strategy->tables[i], i, card));
  }
  card->table_count = count;
  return BW_OK;
}

static enum bw_status check_functions(const struct reading *reading,
                                      const struct bw_blend_strategy *strategy) {
  if (strategy->step == NULL) {
    return REFUSE(reading, "the strategy has no step function; set .step");
  }
  const uint32_t policies = BW_BLEND_ANTILOCK_KEEP | BW_BLEND_ANTILOCK_CUT |
                            BW_BLEND_ANTILOCK_RAMP_OUT | BW_BLEND_ANTILOCK_FREEZE |
                            BW_BLEND_ANTILOCK_MODULATE;
  const uint32_t chosen = strategy->flags & policies;
  if ((chosen & (chosen - 1u)) != 0) {
    return REFUSE(reading,
                  "flags 0x%x choose two ways under antilock; set one of BW_BLEND_ANTILOCK_",
                  (unsigned)strategy->flags);
  }
  if ((strategy->flags & ~(policies | BW_BLEND_WITHOUT_MACHINE)) != 0) {
    return REFUSE(reading, "flags 0x%x are not known; use those of blend.h in .flags",
                  (unsigned)strategy->flags);
  }
  if (strategy->state_size > BW_PLUGIN_STATE_MAX) {
    return REFUSE(reading, "a state of %zu bytes is more than %d; lower .state_size",
                  strategy->state_size, (int)BW_PLUGIN_STATE_MAX);
  }
  return BW_OK;
}

enum bw_status bw_plugin_card_read(const char *path, const struct bw_blend_strategy *strategy,
                                   struct bw_plugin_card *card, struct bw_diag *diag) {
  const struct reading reading = {path, diag};
  memset(card, 0, sizeof *card);
  if (strategy->abi != BW_BLEND_ABI) {
    return REFUSE(&reading,
                  "contract version %u, but this program speaks %u; build it against this "
                  "program's blend.h and set .abi = BW_BLEND_ABI",
                  (unsigned)strategy->abi, (unsigned)BW_BLEND_ABI);
  }
  card->abi = strategy->abi;
  card->flags = strategy->flags;
  card->state_size = strategy->state_size;
  BW_TRY(check_functions(&reading, strategy));
  BW_TRY(read_name(&reading, strategy, card));
  const size_t count = strategy->param_count;
  if (count > BW_PLUGIN_PARAMS_MAX || (count > 0 && strategy->params == NULL)) {
    return REFUSE(&reading, "%zu parameters with %s table; give at most %d in .params", count,
                  strategy->params == NULL ? "no" : "a", (int)BW_PLUGIN_PARAMS_MAX);
  }
  for (size_t i = 0; i < count; i++) {
    BW_TRY(read_param(&reading, &strategy->params[i], i, card));
  }
  card->param_count = count;
  return read_tables(&reading, strategy, card);
}
