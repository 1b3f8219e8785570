/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "controllers.h"

#include "interrupt.h"

#include <string.h>

/* s; opening an object takes milliseconds */
#define OPEN_DEADLINE 10.0
#define DEADLINE_MAX  86400.0

static bool is_path(const char *name) {
  return strchr(name, '/') != NULL;
}

static enum bw_status read_deadline(const struct bw_arguments *arguments, double *deadline,
                                    struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "deadline");
  *deadline = 0.0;
  if (word == NULL) {
    return BW_OK;
  }
  if (!bw_number_parse(word, strlen(word), deadline) ||
      !(*deadline > 0.0 && *deadline <= DEADLINE_MAX)) {
    return bw_fail(diag, BW_E_USAGE,
                   "deadline '%s' is no time; give seconds, above 0 and up to %g, for instance "
                   "--deadline 30",
                   word, DEADLINE_MAX);
  }
  return BW_OK;
}

static bool is_loaded(const struct bw_controllers *controllers, const char *path) {
  for (size_t i = 0; i < controllers->count; i++) {
    if (strcmp(bw_plugin_path(controllers->plugin[i]), path) == 0) {
      return true;
    }
  }
  return false;
}

static enum bw_status load_one(struct bw_controllers *controllers, const char *path,
                               struct bw_diag *diag) {
  const struct bw_containment containment = {
      .deadline = controllers->deadline > 0.0 ? controllers->deadline : OPEN_DEADLINE,
      .is_cancelled = bw_interrupt_has_come};
  struct bw_plugin *plugin = NULL;
  BW_TRY(bw_plugin_load(path, &containment, &plugin, diag));
  const struct bw_blend_strategy *strategy = bw_plugin_strategy(plugin);
  for (size_t i = 0; i < controllers->count; i++) {
    if (strcmp(controllers->strategy[i]->name, strategy->name) == 0) {
      const enum bw_status status =
          bw_fail_at(diag, BW_E_INPUT, path, 0, "is called '%s', as %s is too; rename one of them",
                     strategy->name, bw_plugin_path(controllers->plugin[i]));
      bw_plugin_unload(plugin);
      return status;
    }
  }
  controllers->plugin[controllers->count] = plugin;
  controllers->strategy[controllers->count] = strategy;
  controllers->count++;
  return BW_OK;
}

enum bw_status bw_controllers_load(const struct bw_arguments *arguments, struct bw_controllers *out,
                                   struct bw_diag *diag) {
  *out = (struct bw_controllers){0};
  BW_TRY(read_deadline(arguments, &out->deadline, diag));
  out->plugin = bw_alloc(arguments->setting_count, sizeof(struct bw_plugin *));
  out->strategy = bw_alloc(arguments->setting_count, sizeof(const struct bw_blend_strategy *));
  if (out->plugin == NULL || out->strategy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the controllers");
  }
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "strategy") != 0 || !is_path(setting->value) ||
        is_loaded(out, setting->value)) {
      continue;
    }
    const enum bw_status one = load_one(out, setting->value, diag);
    status = status == BW_OK ? one : status;
  }
  return status;
}

void bw_controllers_free(struct bw_controllers *controllers) {
  for (size_t i = 0; i < controllers->count; i++) {
    bw_plugin_unload(controllers->plugin[i]);
  }
  bw_free(controllers->plugin);
  bw_free(controllers->strategy);
  *controllers = (struct bw_controllers){0};
}

static enum bw_status fail_unknown(const char *name, struct bw_diag *diag) {
  enum { NAMES_MAX = 128 };
  const char *names[NAMES_MAX];
  size_t count = 0;
  const size_t length = strlen(name);
  if (length > 3 && strcmp(name + length - 3, ".so") == 0) {
    return bw_fail(diag, BW_E_USAGE,
                   "unknown strategy '%s'; for the shared object of that name write './%s'", name,
                   name);
  }
  for (; count < bw_strategy_count() && count < NAMES_MAX; count++) {
    names[count] = bw_strategy_at(count)->name;
  }
  const size_t nearest = bw_nearest(name, names, count);
  if (nearest < count) {
    return bw_fail(diag, BW_E_USAGE, "unknown strategy '%s'; did you mean '%s'?", name,
                   names[nearest]);
  }
  return bw_fail(diag, BW_E_USAGE, "unknown strategy '%s'; 'brakeweave list strategies' names them",
                 name);
}

enum bw_status bw_controllers_strategy(const struct bw_controllers *controllers, const char *name,
                                       const struct bw_blend_strategy **out, struct bw_diag *diag) {
  for (size_t i = 0; i < controllers->count; i++) {
    if (strcmp(bw_plugin_path(controllers->plugin[i]), name) == 0 ||
        strcmp(controllers->strategy[i]->name, name) == 0) {
      *out = controllers->strategy[i];
      return BW_OK;
    }
  }
  *out = bw_strategy_find(name);
  return *out != NULL ? BW_OK : fail_unknown(name, diag);
}

const struct bw_plugin *bw_controllers_find(const struct bw_controllers *controllers,
                                            const struct bw_blend_strategy *strategy) {
  for (size_t i = 0; i < controllers->count; i++) {
    if (controllers->strategy[i] == strategy) {
      return controllers->plugin[i];
    }
  }
  return NULL;
}

struct bw_extra_strategies bw_controllers_extra(const struct bw_controllers *controllers) {
  return (struct bw_extra_strategies){controllers->count, controllers->strategy};
}

struct bw_containment bw_controllers_containment(const struct bw_controllers *controllers,
                                                 const struct bw_case *loaded) {
  return (struct bw_containment){.deadline = controllers->deadline > 0.0
                                                 ? controllers->deadline
                                                 : bw_containment_deadline(loaded),
                                 .is_cancelled = bw_interrupt_has_come};
}
