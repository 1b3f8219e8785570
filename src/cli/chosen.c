/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chosen.h"

#include <string.h>

enum bw_status bw_chosen_start(const struct bw_controllers *controllers, struct bw_chosen *out,
                               struct bw_diag *diag) {
  const size_t most = bw_strategy_count() + BW_CASE_STRATEGIES_MAX + controllers->count;
  *out = (struct bw_chosen){.controllers = controllers};
  out->strategy = bw_alloc(most, sizeof(const struct bw_blend_strategy *));
  return out->strategy != NULL ? BW_OK
                               : bw_fail(diag, BW_E_MEMORY, "out of memory for the strategies");
}

void bw_chosen_add(struct bw_chosen *chosen, const struct bw_blend_strategy *strategy) {
  for (size_t i = 0; i < chosen->count; i++) {
    if (chosen->strategy[i] == strategy) {
      return; /* named twice, or named and 'all' */
    }
  }
  chosen->strategy[chosen->count++] = strategy;
}

static void add_all(struct bw_chosen *chosen) {
  for (size_t i = 0; i < bw_strategy_count(); i++) {
    bw_chosen_add(chosen, bw_strategy_at(i));
  }
}

enum bw_status bw_chosen_name(struct bw_chosen *chosen, const char *name, struct bw_diag *diag) {
  const struct bw_blend_strategy *strategy = NULL;
  if (strcmp(name, "all") == 0) {
    add_all(chosen);
    return BW_OK;
  }
  BW_TRY(bw_controllers_strategy(chosen->controllers, name, &strategy, diag));
  bw_chosen_add(chosen, strategy);
  return BW_OK;
}

void bw_chosen_complete(struct bw_chosen *chosen, const struct bw_case *loaded) {
  const bool are_named = chosen->count > 0;
  for (size_t i = 0; i < loaded->strategy_count && !are_named; i++) {
    bw_chosen_add(chosen, loaded->strategies[i]);
  }
  if (chosen->count == 0) {
    add_all(chosen);
  }
}

enum bw_status bw_chosen_read(const struct bw_arguments *arguments,
                              const struct bw_controllers *controllers,
                              const struct bw_case *loaded, struct bw_chosen *out,
                              struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  BW_TRY(bw_chosen_start(controllers, out, diag));
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "strategy") == 0 &&
        bw_chosen_name(out, arguments->settings[i].value, diag) != BW_OK) {
      status = BW_E_USAGE;
    }
  }
  if (status == BW_OK) {
    bw_chosen_complete(out, loaded);
  }
  return status;
}
