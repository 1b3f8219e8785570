/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/figures.h"

#include "alloc.h"
#include "output/figure_view.h"
#include "output/trace_csv.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* every file, traces apart, that the table of figures names */
static const char *const FILES[] = {"summary.csv",          "handovers.csv", "waterfall.csv",
                                    "regeneration-map.csv", "balance.csv",   "descent.csv",
                                    "sweep-statistics.csv", "sweep.csv",     "faults.csv"};

enum { VIEWS = sizeof FILES / sizeof FILES[0], ITEMS_ROOM = 64 };

static const struct bw_figure_view *view_of(const struct bw_figure_plan *plan, const char *file) {
  size_t i = 0;
  while (i < VIEWS && strcmp(FILES[i], file) != 0) {
    i++;
  }
  BW_ASSERT(i < VIEWS); /* a new file of a figure belongs into FILES */
  return &plan->view[i];
}

static enum bw_status fail_without_figures(const char *folder, struct bw_diag *diag) {
  char path[BW_FIGURE_PATH_MAX];
  struct stat info;
  BW_TRY(bw_figure_path(folder, "find.csv", path, diag));
  if (stat(path, &info) == 0) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "holds a search, which has no figures; 'brakeweave report' shows its table");
  }
  return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                    "is no results folder; name one that run, assess, faults, sweep or join made "
                    "with --out");
}

/* a folder of ours, and what a run writes there together is all there */
static enum bw_status check_folder(const char *folder, const struct bw_figure_plan *plan,
                                   struct bw_diag *diag) {
  static const char *const of_a_run[] = {"handovers.csv", "waterfall.csv"};
  char path[BW_FIGURE_PATH_MAX];
  bool has_any = false;
  for (size_t i = 0; i < VIEWS; i++) {
    const char *file = plan->view[i].file;
    const bool is_companion = strcmp(file, of_a_run[0]) == 0 || strcmp(file, of_a_run[1]) == 0;
    has_any = has_any || (plan->view[i].is_there && !is_companion);
  }
  if (!has_any) {
    return fail_without_figures(folder, diag);
  }
  const struct bw_figure_view *summary = view_of(plan, "summary.csv");
  if (!summary->is_there) {
    return BW_OK;
  }
  if (summary->columns < 2 || strcmp(summary->name[0], "strategy") != 0 ||
      strcmp(summary->name[1], "verdict") != 0) {
    BW_TRY(bw_figure_path(folder, "summary.csv", path, diag));
    return bw_fail_at(diag, BW_E_INPUT, path, 1,
                      "is no summary of results; name a folder that 'brakeweave run' made");
  }
  for (size_t i = 0; i < sizeof of_a_run / sizeof of_a_run[0]; i++) {
    if (!view_of(plan, of_a_run[i])->is_there) {
      BW_TRY(bw_figure_path(folder, of_a_run[i], path, diag));
      return bw_fail_at(diag, BW_E_INPUT, path, 0,
                        "no such file; run the case again with this version and --out");
    }
  }
  return BW_OK;
}

/* *has_trace: the strategy has one; its header is checked */
static enum bw_status check_trace(const char *folder, const char *strategy, const char *columns,
                                  bool *has_trace, struct bw_diag *diag) {
  char name[BW_TRACE_FILE_NAME_MAX];
  struct bw_figure_view *view = bw_alloc(1, sizeof *view);
  if (view == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the names of a trace's columns");
  }
  bw_trace_csv_name(strategy, name);
  enum bw_status status = bw_figure_view_read(folder, name, true, view, diag);
  *has_trace = view->is_there;
  if (status == BW_OK && view->is_there) {
    status = bw_figure_view_check(folder, view, columns, diag);
  }
  bw_figure_view_free(view);
  bw_free(view);
  return status;
}

static enum bw_status add_item(struct bw_figure_plan *plan, const struct bw_plot_figure *figure,
                               const char *strategy, struct bw_diag *diag) {
  if (plan->count % ITEMS_ROOM == 0) {
    struct bw_figure_item *grown =
        bw_realloc(plan->item, plan->count + ITEMS_ROOM, sizeof *plan->item);
    if (grown == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "out of memory for the list of figures");
    }
    plan->item = grown;
  }
  plan->item[plan->count++] = (struct bw_figure_item){figure, strategy};
  return BW_OK;
}

/* whether what a sweep holds is enough for the figure */
static bool is_swept_for(const struct bw_figure_view *view, enum bw_figure_when when) {
  size_t axes = 0;
  size_t indices = 0;
  for (size_t i = 0; i < view->columns; i++) {
    axes += view->is_axis[i] ? 1 : 0;
    indices += strncmp(view->name[i], "first_order.", strlen("first_order.")) == 0 ? 1 : 0;
  }
  switch (when) {
  case BW_FIGURE_ONE_AXIS:
    return axes >= 1;
  case BW_FIGURE_TWO_AXES:
    return axes >= 2;
  case BW_FIGURE_ALL_INDICES:
    return indices > 0;
  case BW_FIGURE_ALWAYS:
  default:
    return true;
  }
}

static bool is_wanted(const char *const *only, size_t only_count, const char *strategy) {
  bool is_named = only_count == 0;
  for (size_t i = 0; i < only_count; i++) {
    is_named = is_named || strcmp(only[i], strategy) == 0;
  }
  return is_named;
}

/* *applies: the second file knows the strategy, or it has a trace */
static enum bw_status check_second(const char *folder, const struct bw_figure_plan *plan,
                                   const struct bw_plot_figure *figure, const char *strategy,
                                   bool *applies, struct bw_diag *diag) {
  *applies = true;
  for (size_t i = 1; i < BW_FIGURE_NEEDS && figure->need[i].file != NULL && *applies; i++) {
    if (strcmp(figure->need[i].file, BW_FIGURE_TRACE) == 0) {
      BW_TRY(check_trace(folder, strategy, figure->need[i].columns, applies, diag));
    } else {
      *applies = bw_figure_view_knows(view_of(plan, figure->need[i].file), strategy);
    }
  }
  return BW_OK;
}

static enum bw_status add_of_strategies(const char *folder, const struct bw_plot_figure *figure,
                                        const char *const *only, size_t only_count,
                                        struct bw_figure_plan *plan, struct bw_diag *diag) {
  const struct bw_figure_view *view = view_of(plan, figure->need[0].file);
  for (size_t i = 0; i < view->strategies; i++) {
    bool applies = is_wanted(only, only_count, view->strategy[i]);
    if (applies) {
      BW_TRY(check_second(folder, plan, figure, view->strategy[i], &applies, diag));
    }
    if (applies) {
      BW_TRY(add_item(plan, figure, view->strategy[i], diag));
    }
  }
  return BW_OK;
}

static enum bw_status add_figure(const char *folder, const struct bw_plot_figure *figure,
                                 const char *const *only, size_t only_count,
                                 struct bw_figure_plan *plan, struct bw_diag *diag) {
  const struct bw_figure_view *view = view_of(plan, figure->need[0].file);
  if (!view->is_there) {
    return BW_OK;
  }
  BW_TRY(bw_figure_view_check(folder, view, figure->need[0].columns, diag));
  if (!is_swept_for(view, figure->when)) {
    return BW_OK;
  }
  return figure->is_per_strategy ? add_of_strategies(folder, figure, only, only_count, plan, diag)
                                 : add_item(plan, figure, NULL, diag);
}

static enum bw_status add_figures(const char *folder, const char *const *only, size_t only_count,
                                  struct bw_figure_plan *plan, struct bw_diag *diag) {
  for (size_t f = 0; f < bw_figure_count(); f++) {
    BW_TRY(add_figure(folder, bw_figure_at(f), only, only_count, plan, diag));
  }
  return BW_OK;
}

static enum bw_status check_names(const char *const *only, size_t only_count,
                                  const struct bw_figure_plan *plan, struct bw_diag *diag) {
  for (size_t i = 0; i < only_count; i++) {
    bool is_known = false;
    for (size_t k = 0; k < VIEWS; k++) {
      is_known = is_known || bw_figure_view_knows(&plan->view[k], only[i]);
    }
    if (!is_known) {
      return bw_fail(diag, BW_E_USAGE, "no strategy '%s' in the results; give a name of its table",
                     only[i]);
    }
  }
  return BW_OK;
}

enum bw_status bw_figure_plan_make(const char *folder, const char *const *only, size_t only_count,
                                   struct bw_figure_plan *plan, struct bw_diag *diag) {
  *plan = (struct bw_figure_plan){.view = bw_alloc(VIEWS, sizeof *plan->view)};
  if (plan->view == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the list of figures");
  }
  for (size_t i = 0; i < VIEWS; i++) {
    BW_TRY(bw_figure_view_read(folder, FILES[i], false, &plan->view[i], diag));
  }
  BW_TRY(check_folder(folder, plan, diag));
  BW_TRY(check_names(only, only_count, plan, diag));
  return add_figures(folder, only, only_count, plan, diag);
}

void bw_figure_plan_free(struct bw_figure_plan *plan) {
  for (size_t i = 0; plan->view != NULL && i < VIEWS; i++) {
    bw_figure_view_free(&plan->view[i]);
  }
  bw_free(plan->view);
  bw_free(plan->item);
  *plan = (struct bw_figure_plan){0};
}
