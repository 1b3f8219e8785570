/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chosen.h"
#include "interrupt.h"
#include "progress.h"
#include "report_diag.h"
#include "verbs.h"

static const struct bw_option OPTIONS[] = {
    {"strategy", "NAME", "a strategy, or ./PATH.so; may be given again; 'all': every built-in one",
     't', true},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"descent", "FILE", "a descent of your own, CSV distance_m,speed_kmh,grade_percent", 'd',
     false},
    {"out", "DIR", "write DIR/assess.csv, the curves behind it and assess-resolved.cfg", 'o',
     false},
    {"full", NULL, "print every row and how each part was done", 'f', false},
    BW_OPTION_DEADLINE,
    {"quiet", NULL, "no progress on standard error", 'q', false},
    BW_OPTION_HELP,
};

static enum bw_status assess_all(const struct bw_case *loaded,
                                 const struct bw_controllers *controllers,
                                 const struct bw_chosen *chosen, struct bw_progress *progress,
                                 struct bw_assessment *found, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < chosen->count && status == BW_OK; i++) {
    const struct bw_blend_strategy *strategy = chosen->strategy[i];
    const struct bw_assess_job job = {loaded, strategy, bw_controllers_find(controllers, strategy),
                                      bw_controllers_containment(controllers, loaded)};
    bw_progress_show(progress, i, chosen->count, strategy->name);
    status = bw_assess_run(&job, found, diag);
    if (status == BW_OK && bw_interrupt_has_come()) {
      status = bw_fail(diag, BW_E_INTERRUPTED,
                       "interrupted with %zu of %zu strategies done; nothing written", i + 1,
                       chosen->count);
    }
  }
  bw_progress_clear(progress);
  if (status == BW_OK) {
    const struct bw_assess_job car = {.loaded = loaded};
    status = bw_assess_run(&car, found, diag);
  }
  return status;
}

static enum bw_status deliver(const struct bw_arguments *arguments, const struct bw_case *loaded,
                              const struct bw_assessment *found, struct bw_diag *diag) {
  const char *out = bw_arguments_value(arguments, "out");
  if (out != NULL) {
    BW_TRY(bw_assess_write_csv(loaded, found, out, diag));
  }
  const enum bw_status status =
      bw_assess_print(loaded, found, bw_arguments_has(arguments, "full"), BW_VERSION, stdout);
  return status == BW_E_IO ? BW_OK : status; /* main tells a failed standard output, once */
}

/* a controller that failed in every run has told nothing about the car */
static enum bw_status check_judged(const struct bw_chosen *chosen,
                                   const struct bw_assessment *found, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < chosen->count; i++) {
    if (bw_assessment_judged(found, chosen->strategy[i]) == 0) {
      status = bw_fail(diag, BW_E_NUMERIC,
                       "nothing of strategy '%s' could be assessed, the reasons stand beside its "
                       "rows; mend the strategy",
                       chosen->strategy[i]->name);
    }
  }
  return status;
}

static int assess(const struct bw_arguments *arguments, const struct bw_controllers *controllers) {
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const int load_exit = bw_verb_load_case(arguments, controllers, &loaded);
  if (loaded == NULL) {
    return load_exit;
  }
  bw_interrupt_watch();
  struct bw_chosen chosen = {0};
  struct bw_assessment found = {0};
  struct bw_progress progress = bw_progress_make(bw_arguments_has(arguments, "quiet"));
  enum bw_status status = bw_chosen_read(arguments, controllers, loaded, &chosen, &diag);
  const char *out = bw_arguments_value(arguments, "out");
  if (status == BW_OK && out != NULL) {
    status = bw_assess_try_csv(out, &diag); /* not after the work */
  }
  if (status == BW_OK) {
    status = assess_all(loaded, controllers, &chosen, &progress, &found, &diag);
  }
  if (status == BW_OK) {
    status = deliver(arguments, loaded, &found, &diag);
  }
  if (status == BW_OK) {
    status = check_judged(&chosen, &found, &diag);
  }
  int exit_status = bw_report_diag(&diag, status);
  if (status == BW_OK && bw_assessment_missed(&found) > 0) {
    exit_status = bw_status_exit(BW_E_LIMIT);
  }
  bw_assessment_free(&found);
  bw_free(chosen.strategy);
  bw_case_destroy(loaded);
  return exit_status;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct bw_controllers controllers = {0};
  const enum bw_status status = bw_controllers_load(arguments, &controllers, &diag);
  const int exit_status =
      status == BW_OK ? assess(arguments, &controllers) : bw_report_diag(&diag, status);
  bw_controllers_free(&controllers);
  return exit_status;
}

const struct bw_verb BW_VERB_ASSESS = {
    .name = "assess",
    .purpose = "Hold the car's brakes against published rules, sound and with failures",
    .example = "brakeweave assess cases/hatchback-wltc.cfg --strategy series --out results",
    .usage = "CASE [OPTIONS]",
    .details =
        "CASE is a case file; its car is stopped from 100 km/h and, where asked for, at high\n"
        "speed, laden and unladen, with a full battery, the case's own charge and no machine,\n"
        "and with failed circuits, booster and machines; its balance is held as a band over "
        "charge\n"
        "and speed; it is released from its accelerator, parked on grades, heated by snubs and "
        "long\n"
        "descents, and driven on its own cycle. Predictions for engineering: type approval is the\n"
        "authority's.\n"
        "Without --strategy the case's own list is assessed, or every strategy. Exit status 1 "
        "tells\n"
        "that a limit was missed.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
