/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw.h"
#include "report_diag.h"
#include "verbs.h"

#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"svg", NULL, "figures as SVG (default)", '\0', false},
    {"png", NULL, "figures as PNG", '\0', false},
    {"pdf", NULL, "figures as PDF", '\0', false},
    {"strategy", "NAME", "only the figures of this strategy; may be given again", 't', true},
    BW_OPTION_HELP,
};

enum { STRATEGIES_MAX = 512 };

static enum bw_status read_ending(const struct bw_arguments *arguments, const char **ending,
                                  struct bw_diag *diag) {
  static const char *const endings[] = {"svg", "png", "pdf"};
  *ending = NULL;
  for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
    if (!bw_arguments_has(arguments, endings[i])) {
      continue;
    }
    if (*ending != NULL) {
      return bw_fail(diag, BW_E_USAGE, "--%s and --%s exclude each other; give one", *ending,
                     endings[i]);
    }
    *ending = endings[i];
  }
  *ending = *ending != NULL ? *ending : endings[0];
  return BW_OK;
}

static enum bw_status keep_names(const struct bw_arguments *arguments, const char **name,
                                 size_t *count, struct bw_diag *diag) {
  *count = 0;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "strategy") != 0) {
      continue;
    }
    if (*count == STRATEGIES_MAX) {
      return bw_fail(diag, BW_E_USAGE, "more than %d strategies; leave --strategy out for all",
                     (int)STRATEGIES_MAX);
    }
    name[(*count)++] = setting->value;
  }
  return BW_OK;
}

static enum bw_status draw_all(const struct bw_arguments *arguments, struct bw_figure_plan *plan,
                               struct bw_diag *diag) {
  const char *folder = arguments->operands[0];
  const char *name[STRATEGIES_MAX];
  const char *ending = NULL;
  char target[BW_FIGURE_PATH_MAX];
  size_t count = 0;
  BW_TRY(read_ending(arguments, &ending, diag));
  BW_TRY(keep_names(arguments, name, &count, diag));
  BW_TRY(bw_figure_plan_make(folder, name, count, plan, diag));
  BW_TRY(bw_figure_path(folder, "figures", target, diag));
  BW_TRY(bw_draw(folder, plan, target, ending, diag));
  (void)printf("%zu figures in %s\n", plan->count, target);
  return BW_OK;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct bw_figure_plan plan = {0};
  const enum bw_status status = draw_all(arguments, &plan, &diag);
  bw_figure_plan_free(&plan);
  return bw_report_diag(&diag, status);
}

const struct bw_verb BW_VERB_PLOT = {
    .name = "plot",
    .purpose = "Draw the figures of a results folder, with gnuplot",
    .example = "brakeweave plot results --png",
    .usage = "FOLDER [OPTIONS]",
    .details =
        "FOLDER is what run, assess, sweep or faults wrote with --out. Everything that applies\n"
        "goes into its subfolder figures/: of a run energy, trade-off, allowed regeneration\n"
        "and per strategy waterfall, energy by speed and, with a trace, torque over time and\n"
        "speed, the deepest hand-over, forces and adhesion of the axles, charge and\n"
        "temperatures; of an assessment adhesion bands and a descent; of a sweep maps, lines,\n"
        "sensitivity and trade-off; of faults their matrix. Files of the same name are\n"
        "replaced; draw again after another run. plots/NAME.gp draw one each by hand.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "results folder",
    .operand_count = 1,
    .run = run,
};
