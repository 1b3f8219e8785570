/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/plugin.h"

#include "alloc.h"
#include "batch/contain.h"
#include "batch/guard.h"
#include "batch/plugin_card.h"
#include "input/shared_object.h"

#include <dlfcn.h>
#include <stdio.h>
#include <string.h>

struct bw_plugin {
  struct bw_blend_strategy strategy;
  struct bw_plugin_card card;
  struct bw_blend_param params[BW_PLUGIN_PARAMS_MAX];
  struct bw_blend_table_need tables[BW_PLUGIN_TABLES_MAX];
  char path[];
};

/* a child at work on one shared object */
struct visit {
  const char *path;
  struct bw_guard_page *page;
  const struct bw_plugin_card *known; /* NULL: the card is wanted */
  const struct bw_plugin_job *job;
};

/* not for the process that is to survive: constructors of the object run */
static enum bw_status open_object(const struct visit *visit,
                                  const struct bw_blend_strategy **strategy,
                                  struct bw_plugin_card *card, struct bw_diag *diag) {
  visit->page->phase = BW_PHASE_LOADING;
  void *object = dlopen(visit->path, RTLD_NOW | RTLD_LOCAL);
  if (object == NULL) {
    const char *reason = dlerror(); /* NOLINT: the child has one thread */
    return bw_fail_at(diag, BW_E_INPUT, visit->path, 0,
                      "cannot be loaded (%.300s); link what it needs into it",
                      reason != NULL ? reason : "no reason given");
  }
  visit->page->phase = BW_PHASE_READING;
  *strategy = dlsym(object, BW_BLEND_EXPORT_NAME);
  if (*strategy == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, visit->path, 0,
                      "exports no symbol '" BW_BLEND_EXPORT_NAME
                      "'; define const struct bw_blend_strategy " BW_BLEND_EXPORT_NAME
                      " as blend.h tells");
  }
  return bw_plugin_card_read(visit->path, *strategy, card, diag);
}

static void describe(void *context, struct bw_parcel *parcel) {
  const struct visit *visit = context;
  const struct bw_blend_strategy *strategy = NULL;
  struct bw_plugin_card card;
  struct bw_diag diag = {0};
  const enum bw_status status = open_object(visit, &strategy, &card, &diag);
  bw_parcel_put_status(parcel, status, &diag);
  if (status == BW_OK) {
    bw_parcel_put(parcel, &card, sizeof card);
  }
}

static enum bw_status work_live(const struct visit *visit, struct bw_parcel *parcel,
                                struct bw_diag *diag) {
  const struct bw_blend_strategy *strategy = NULL;
  struct bw_plugin_card card;
  BW_TRY(open_object(visit, &strategy, &card, diag));
  if (memcmp(&card, visit->known, sizeof card) != 0) { /* NOLINT: both were zeroed first */
    return bw_fail_at(diag, BW_E_INPUT, visit->path, 0,
                      "has changed since it was loaded; run again");
  }
  struct bw_guard guard = {visit->path, visit->page};
  const struct bw_observer observer = {
      .context = &guard, .watch = bw_guard_watch, .consult = bw_guard_consult};
  visit->page->phase = BW_PHASE_START;
  return visit->job->work(visit->job->context, strategy, &observer, parcel, diag);
}

/* the status goes first, though it is known last */
static void run_live(void *context, struct bw_parcel *parcel) {
  struct bw_parcel results = {0};
  struct bw_diag diag = {0};
  enum bw_status status = work_live(context, &results, &diag);
  if (results.has_failed && status == BW_OK) {
    status = bw_fail(&diag, BW_E_MEMORY, "out of memory for the results of a child process");
  }
  bw_parcel_put_status(parcel, status, &diag);
  bw_parcel_put(parcel, results.bytes, results.size);
  bw_parcel_free(&results);
}

/* `failed`: the status of a child that did not get to its end */
static enum bw_status send_child(struct visit *visit, const struct bw_containment *containment,
                                 enum bw_status failed, struct bw_parcel *parcel,
                                 struct bw_diag *diag) {
  visit->page = bw_contain_share(sizeof *visit->page);
  if (visit->page == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory to share with a child process");
  }
  const struct bw_contain_job job = {.work = visit->job != NULL ? run_live : describe,
                                     .context = visit,
                                     .deadline = containment->deadline,
                                     .is_cancelled = containment->is_cancelled};
  struct bw_contain_report report = {BW_CONTAIN_DONE, 0};
  enum bw_status status = bw_contain(&job, parcel, &report, diag);
  if (status == BW_OK && report.end != BW_CONTAIN_DONE) {
    status = bw_guard_tell(visit->path, visit->page, &report, containment->deadline, failed, diag);
  } else if (status == BW_OK) {
    status = bw_parcel_get_status(parcel, diag);
  }
  bw_contain_unshare(visit->page, sizeof *visit->page);
  return status;
}

static void no_step(void *state, const struct bw_blend_info *info, const double *params,
                    const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)state;
  (void)info;
  (void)params;
  (void)input;
  (void)request;
}

static void fill_strategy(struct bw_plugin *plugin) {
  const struct bw_plugin_card *card = &plugin->card;
  for (size_t i = 0; i < card->param_count; i++) {
    const struct bw_plugin_param *param = &card->param[i];
    plugin->params[i] = (struct bw_blend_param){.name = param->name,
                                                .min = param->min,
                                                .max = param->max,
                                                .fallback = param->fallback,
                                                .help = param->help};
  }
  for (size_t i = 0; i < card->table_count; i++) {
    const struct bw_plugin_table *table = &card->table[i];
    plugin->tables[i] = (struct bw_blend_table_need){
        .name = table->name, .columns = table->columns, .help = table->help};
  }
  plugin->strategy = (struct bw_blend_strategy){.abi = card->abi,
                                                .flags = card->flags,
                                                .name = card->name,
                                                .summary = card->summary,
                                                .params = plugin->params,
                                                .param_count = card->param_count,
                                                .state_size = 0,
                                                .start = NULL,
                                                .step = no_step,
                                                .tables = plugin->tables,
                                                .table_count = card->table_count};
}

enum bw_status bw_plugin_load(const char *path, const struct bw_containment *containment,
                              struct bw_plugin **out, struct bw_diag *diag) {
  *out = NULL;
  BW_TRY(bw_shared_object_check(path, diag));
  const size_t length = strlen(path) + 1;
  struct bw_plugin *plugin = bw_alloc(1, sizeof *plugin + length);
  if (plugin == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the controller %.300s", path);
  }
  memcpy(plugin->path, path, length);
  struct visit visit = {.path = plugin->path};
  struct bw_parcel parcel = {0};
  enum bw_status status = send_child(&visit, containment, BW_E_INPUT, &parcel, diag);
  if (status == BW_OK) {
    bw_parcel_get(&parcel, &plugin->card, sizeof plugin->card);
    status = parcel.has_failed ? BW_E_INTERNAL : BW_OK;
  }
  bw_parcel_free(&parcel);
  if (status != BW_OK) {
    bw_free(plugin);
    return status;
  }
  fill_strategy(plugin);
  *out = plugin;
  return BW_OK;
}

void bw_plugin_unload(struct bw_plugin *plugin) {
  bw_free(plugin);
}

const struct bw_blend_strategy *bw_plugin_strategy(const struct bw_plugin *plugin) {
  return &plugin->strategy;
}

const char *bw_plugin_path(const struct bw_plugin *plugin) {
  return plugin->path;
}

enum bw_status bw_plugin_run(const struct bw_plugin *plugin,
                             const struct bw_containment *containment,
                             const struct bw_plugin_job *job, struct bw_parcel *parcel,
                             struct bw_diag *diag) {
  struct visit visit = {.path = plugin->path, .known = &plugin->card, .job = job};
  return send_child(&visit, containment, BW_E_NUMERIC, parcel, diag);
}
