/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sweep_strategies.h"

#include "chosen.h"

#include <string.h>

/* words of --over strategy=NAME,NAME */
static enum bw_status add_list(struct bw_chosen *chosen, const char *names, struct bw_diag *diag) {
  while (names != NULL) {
    char name[BW_SWEEP_VALUE_MAX];
    const char *comma = strchr(names, ',');
    const size_t length = comma != NULL ? (size_t)(comma - names) : strlen(names);
    (void)snprintf(name, sizeof name, "%.*s", length < sizeof name ? (int)length : 0, names);
    BW_TRY(bw_chosen_name(chosen, name, diag));
    names = comma != NULL ? comma + 1 : NULL;
  }
  return BW_OK;
}

static const char STRATEGY_AXIS[] = "strategy=";

bool bw_sweep_is_strategy_axis(const struct bw_setting *setting) {
  return strcmp(setting->option->name, "over") == 0 &&
         strncmp(setting->value, STRATEGY_AXIS, sizeof STRATEGY_AXIS - 1) == 0;
}

/* what the command line names, else what the case names, else every strategy */
static enum bw_status choose_named(const struct bw_arguments *arguments,
                                   const struct bw_case *loaded, struct bw_chosen *chosen,
                                   struct bw_diag *diag) {
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "strategy") == 0) {
      BW_TRY(bw_chosen_name(chosen, setting->value, diag));
    } else if (bw_sweep_is_strategy_axis(setting)) {
      BW_TRY(add_list(chosen, setting->value + sizeof STRATEGY_AXIS - 1, diag));
    }
  }
  bw_chosen_complete(chosen, loaded);
  return BW_OK;
}

/* those that the rows of the points file name, one per row */
static enum bw_status choose_of_rows(const struct bw_arguments *arguments,
                                     const struct bw_sweep_job *job, struct bw_chosen *chosen,
                                     struct bw_diag *diag) {
  const struct bw_csv *points = &job->points;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    const bool is_name =
        strcmp(setting->option->name, "strategy") == 0 && strchr(setting->value, '/') == NULL;
    if (is_name || bw_sweep_is_strategy_axis(setting)) {
      return bw_fail(diag, BW_E_USAGE,
                     "%s names the strategy of each row; leave out '%.100s' or that column",
                     points->path, setting->value);
    }
  }
  for (size_t row = 0; row < points->rows; row++) {
    const char *name = bw_csv_word(points, row, job->plan.strategy_column);
    const struct bw_blend_strategy *strategy = NULL;
    if (bw_controllers_strategy(job->controllers, name, &strategy, NULL) != BW_OK) {
      return bw_fail_at(diag, BW_E_INPUT, points->path, points->lines[row],
                        "unknown strategy '%.60s'; 'brakeweave list strategies' names them, "
                        "loaded ones need --strategy ./PATH.so too",
                        name);
    }
    bw_chosen_add(chosen, strategy);
  }
  return BW_OK;
}

enum bw_status bw_sweep_strategies_choose(const struct bw_arguments *arguments,
                                          struct bw_sweep_job *job, struct bw_diag *diag) {
  struct bw_chosen chosen;
  BW_TRY(bw_chosen_start(job->controllers, &chosen, diag));
  const bool is_of_rows = job->plan.names_strategies;
  const enum bw_status status = is_of_rows ? choose_of_rows(arguments, job, &chosen, diag)
                                           : choose_named(arguments, job->loaded, &chosen, diag);
  job->strategies = chosen.strategy;
  job->strategy_count = chosen.count;
  job->runs = is_of_rows ? 1 : job->strategy_count;
  return status;
}

const struct bw_blend_strategy *bw_sweep_strategy_of(const struct bw_sweep_job *job, size_t point,
                                                     size_t run) {
  const char *name = bw_sweep_strategy(&job->plan, point);
  const struct bw_blend_strategy *strategy = NULL;
  if (name == NULL) {
    return job->strategies[run];
  }
  const enum bw_status status = bw_controllers_strategy(job->controllers, name, &strategy, NULL);
  BW_ASSERT(status == BW_OK); /* every row was looked at */
  return strategy;
}
