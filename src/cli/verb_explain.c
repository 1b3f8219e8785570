/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "interrupt.h"
#include "report_diag.h"
#include "run_watch.h"
#include "verbs.h"

#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"strategy", "NAME", "the strategy to look at, or ./PATH.so", 't', false},
    {"at", "TIME", "moment of the run, s", 'a', false},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"format", "FORMAT", "text (default) or json", 'f', false},
    BW_OPTION_DEADLINE,
    BW_OPTION_HELP,
};

/* what is wanted */
struct question {
  bool is_json;
  const char *at_word;
  double at; /* s */
  const struct bw_blend_strategy *strategy;
  struct bw_controllers controllers;
};

static enum bw_status read_question(const struct bw_arguments *arguments, struct question *question,
                                    struct bw_diag *diag) {
  const char *format = bw_arguments_value(arguments, "format");
  const char *name = bw_arguments_value(arguments, "strategy");
  question->at_word = bw_arguments_value(arguments, "at");
  if (format != NULL && strcmp(format, "text") != 0 && strcmp(format, "json") != 0) {
    return bw_fail(diag, BW_E_USAGE, "unknown format '%s'; give text or json", format);
  }
  question->is_json = format != NULL && strcmp(format, "json") == 0;
  if (name == NULL || question->at_word == NULL) {
    return bw_fail(diag, BW_E_USAGE, "no %s given; write --strategy NAME --at TIME",
                   name == NULL ? "strategy" : "time");
  }
  if (!bw_number_parse(question->at_word, strlen(question->at_word), &question->at) ||
      question->at < 0.0) {
    return bw_fail(diag, BW_E_USAGE, "time '%s' is no moment of a run; give seconds, 0 or more",
                   question->at_word);
  }
  BW_TRY(bw_controllers_load(arguments, &question->controllers, diag));
  return bw_controllers_strategy(&question->controllers, name, &question->strategy, diag);
}

static enum bw_status find_moment(const struct question *question, const struct bw_case *loaded,
                                  struct bw_moment *moment, struct bw_diag *diag) {
  const struct bw_plugin *plugin = bw_controllers_find(&question->controllers, question->strategy);
  if (plugin == NULL) {
    struct bw_run_watch watch = bw_run_watch_make(question->controllers.deadline);
    const struct bw_observer observer = {.context = &watch, .watch = bw_run_watch_sample};
    const struct bw_moment_search search = {.at = question->at,
                                            .guard = watch.deadline > 0.0 ? &observer : NULL};
    return bw_moment_find(loaded, question->strategy, &search, moment, diag);
  }
  const struct bw_containment containment =
      bw_controllers_containment(&question->controllers, loaded);
  return bw_moment_find_contained(loaded, plugin, &containment, question->at, moment, diag);
}

static enum bw_status answer(const struct question *question, const struct bw_case *loaded,
                             struct bw_moment *moment, struct bw_diag *diag) {
  BW_TRY(find_moment(question, loaded, moment, diag));
  if (!moment->is_found) {
    return bw_fail(diag, BW_E_USAGE, "the run ends at %.6g s, before %s s; give --at below that",
                   moment->end, question->at_word);
  }
  const struct bw_explanation explanation = {loaded, question->strategy->name, moment};
  const enum bw_status status = question->is_json
                                    ? bw_explain_json(&explanation, stdout)
                                    : bw_explain_print(&explanation, BW_VERSION, stdout);
  return status == BW_E_IO ? BW_OK : status; /* main tells a failed standard output, once */
}

static int explain(const struct bw_arguments *arguments, const struct question *question) {
  BW_ASSERT(question->strategy != NULL);
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const int load_exit = bw_verb_load_case(arguments, &question->controllers, &loaded);
  if (loaded == NULL) {
    return load_exit;
  }
  struct bw_moment *moment = bw_alloc(1, sizeof *moment);
  const enum bw_status status =
      moment != NULL ? answer(question, loaded, moment, &diag) : BW_E_MEMORY;
  const int exit_status = bw_report_diag(&diag, status);
  bw_free(moment);
  bw_case_destroy(loaded);
  return exit_status;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct question question = {0};
  const enum bw_status status = read_question(arguments, &question, &diag);
  const int exit_status =
      status == BW_OK ? explain(arguments, &question) : bw_report_diag(&diag, status);
  bw_controllers_free(&question.controllers);
  return exit_status;
}

const struct bw_verb BW_VERB_EXPLAIN = {
    .name = "explain",
    .purpose = "Show one moment of a run: what the strategy saw, the limits, the split",
    .example = "brakeweave explain cases/hatchback-wltc.cfg --strategy series --at 1792.6",
    .usage = "CASE --strategy NAME --at TIME [OPTIONS]",
    .details = "CASE is a case file. The run is driven anew up to the control period that holds\n"
               "TIME; the page then tells, with units and in plain words, what the strategy saw,\n"
               "which limit was active, what it asked for, what was commanded, delivered and\n"
               "clipped, how the axles stood against the balance rule, and what the driver felt.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
