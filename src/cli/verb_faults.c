/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "fault_job.h"
#include "interrupt.h"
#include "jobs.h"
#include "report_diag.h"
#include "verbs.h"

#include <string.h>

enum { MOMENTS = 8, MOMENTS_MAX = 1000, DECELERATIONS = 3, ROWS = 20, ROWS_MAX = 1000000 };

static const struct bw_option OPTIONS[] = {
    {"strategy", "NAME",
     "one strategy, or ./PATH.so (default: the case's first that uses machines)", 't', true},
    {"fault", "KIND", "a word of fault.kind; may be given again; without it every kind", 'k', true},
    {"over", "KEY=VALUES", "values of a condition; may be given again", 'v', true},
    {"cross", "HOW", "combine the conditions in pairs (default) or full", 'x', false},
    {"order", "MEASURE", "worst by way (default), speed, loss, gain, slip, lock, balance or time",
     'r', false},
    {"moments", "COUNT", "starts tried before the search narrows, 1 to 1000 (default 8)", 'm',
     false},
    {"decelerations", "N", "of a cycle, how many are looked at, 1 to 16 (default 3)", '\0', false},
    {"rows", "COUNT", "rows of the table on standard output (default 20)", '\0', false},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"out", "DIR", "write DIR/faults.csv and faults-resolved.cfg", 'o', false},
    {"jobs", "N", "worker processes (default: one per processor)", 'j', false},
    BW_OPTION_DEADLINE,
    {"quiet", NULL, "no progress on standard error", 'q', false},
    BW_OPTION_HELP,
};

static enum bw_status read_order(const struct bw_arguments *arguments, enum bw_fault_order *order,
                                 struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "order");
  *order = BW_FAULT_BY_WAY;
  if (word != NULL) {
    *order = bw_fault_order_find(word);
  }
  return *order < BW_FAULT_ORDER_COUNT
             ? BW_OK
             : bw_fail(diag, BW_E_USAGE,
                       "unknown order '%.80s'; give way, speed, loss, gain, slip, lock, balance or "
                       "time",
                       word);
}

static void read_words(const struct bw_case *loaded, struct bw_fault_job *job) {
  const char *place = bw_param_find(bw_case_params(loaded), "fault.kind")->choices;
  for (size_t i = 0; i < BW_FAULT_KIND_COUNT; i++) {
    const size_t length = strcspn(place, "|");
    (void)snprintf(job->word[i], BW_FAULT_WORD_SIZE, "%.*s", (int)length, place);
    place += length + (place[length] == '|' ? 1 : 0);
  }
}

static enum bw_status add_kind(struct bw_fault_job *job, const char *word, struct bw_diag *diag) {
  for (int i = BW_FAULT_NONE + 1; i < BW_FAULT_KIND_COUNT; i++) {
    if (strcmp(job->word[i], word) != 0) {
      continue;
    }
    for (size_t k = 0; k < job->kind_count; k++) {
      if ((int)job->kind[k] == i) {
        return BW_OK; /* named twice */
      }
    }
    job->kind[job->kind_count++] = (enum bw_fault_kind)i;
    return BW_OK;
  }
  return bw_fail(diag, BW_E_USAGE,
                 "unknown fault '%.80s'; 'brakeweave list parameters' names the kinds", word);
}

/* a car without machines on the axles of fault.axle is spared what only machines can do */
static bool is_possible(const struct bw_case *loaded, enum bw_fault_kind kind) {
  struct bw_fault fault = loaded->fault;
  fault.kind = kind;
  const bool needs_machine = bw_fault_needs_machine(kind) || kind == BW_FAULT_CHARGE_LIMIT ||
                             kind == BW_FAULT_CONTACTOR_OPEN;
  for (int i = 0; i < BW_AXLES; i++) {
    if (!needs_machine || (loaded->machine[i].is_fitted && bw_fault_hits(&fault, i))) {
      return true;
    }
  }
  return false;
}

static enum bw_status choose_kinds(const struct bw_arguments *arguments,
                                   const struct bw_case *loaded, struct bw_fault_job *job,
                                   struct bw_diag *diag) {
  read_words(loaded, job);
  if (loaded->fault.kind != BW_FAULT_NONE) {
    return bw_fail(diag, BW_E_USAGE,
                   "the case has a fault of its own; set fault.kind to none and name it with "
                   "--fault");
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "fault") == 0) {
      BW_TRY(add_kind(job, arguments->settings[i].value, diag));
    }
  }
  const bool are_named = job->kind_count > 0;
  for (size_t i = 0; i < job->kind_count; i++) {
    if (!is_possible(loaded, job->kind[i])) {
      return bw_fail(diag, BW_E_USAGE,
                     "no machine is fitted to the axles of fault.axle that could suffer %s; name "
                     "another fault or axle",
                     job->word[job->kind[i]]);
    }
  }
  for (int i = BW_FAULT_NONE + 1; i < BW_FAULT_KIND_COUNT && !are_named; i++) {
    if (is_possible(loaded, (enum bw_fault_kind)i)) {
      job->kind[job->kind_count++] = (enum bw_fault_kind)i;
    }
  }
  return BW_OK;
}

/* Without machines most faults do nothing, so the baseline is studied only where it is named, or
 * where the case has no other strategy. */
static const struct bw_blend_strategy *usual_strategy(const struct bw_case *loaded) {
  const size_t own = loaded->strategy_count;
  const size_t count = own > 0 ? own : bw_strategy_count();
  for (size_t i = 0; i < count; i++) {
    const struct bw_blend_strategy *strategy = own > 0 ? loaded->strategies[i] : bw_strategy_at(i);
    if ((strategy->flags & (uint32_t)BW_BLEND_WITHOUT_MACHINE) == 0) {
      return strategy;
    }
  }
  return loaded->strategies[0];
}

static enum bw_status choose_strategy(const struct bw_arguments *arguments,
                                      const struct bw_case *loaded, struct bw_fault_job *job,
                                      struct bw_diag *diag) {
  size_t count = 0;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    count += strcmp(arguments->settings[i].option->name, "strategy") == 0 ? 1 : 0;
  }
  if (count > 1) {
    return bw_fail(diag, BW_E_USAGE, "%zu strategies given; a study is of one, give one", count);
  }
  const char *name = bw_arguments_value(arguments, "strategy");
  if (name != NULL) {
    return bw_controllers_strategy(job->controllers, name, &job->strategy, diag);
  }
  job->strategy = usual_strategy(loaded);
  job->is_usual_strategy = true;
  return BW_OK;
}

/* every condition is loaded once before anything is run: bad values are refused with nothing done.
 * So is each kind, which has checks of its own. */
static enum bw_status check_conditions(struct bw_fault_job *job, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < job->axes.plan.count && status == BW_OK; i++) {
    struct bw_case *loaded = NULL;
    status = bw_fault_job_load(job, i, NULL, &loaded, diag);
    bw_case_destroy(loaded);
  }
  for (size_t i = 0; i < job->kind_count && status == BW_OK; i++) {
    char text[BW_FAULT_WORD_SIZE + sizeof "fault.kind="];
    (void)snprintf(text, sizeof text, "fault.kind=%s", job->word[job->kind[i]]);
    struct bw_case *loaded = NULL;
    status = bw_fault_job_load(job, 0, text, &loaded, diag);
    bw_case_destroy(loaded);
  }
  return status;
}

static enum bw_status prepare(const struct bw_arguments *arguments, const struct bw_case *loaded,
                              struct bw_fault_job *job, struct bw_diag *diag) {
  job->aim.moments = MOMENTS;
  job->decelerations = DECELERATIONS;
  BW_TRY(bw_arguments_whole(arguments, "moments", 1, MOMENTS_MAX, &job->aim.moments, diag));
  BW_TRY(bw_arguments_whole(arguments, "decelerations", 1, BW_FAULT_WINDOWS_MAX,
                            &job->decelerations, diag));
  BW_TRY(read_order(arguments, &job->aim.order, diag));
  BW_TRY(bw_arguments_overrides(arguments, 0, &job->sets, &job->set_count, diag));
  BW_TRY(bw_fault_job_read(job, diag));
  BW_TRY(choose_strategy(arguments, loaded, job, diag));
  BW_TRY(choose_kinds(arguments, loaded, job, diag));
  BW_TRY(bw_fault_axes_choose(arguments, loaded, &job->axes, diag));
  return check_conditions(job, diag);
}

static void print_head(const struct bw_fault_job *job, const struct bw_case *loaded) {
  const size_t conditions = job->axes.plan.count;
  const size_t cells = job->kind_count * conditions;
  const struct bw_fault_conditions view = {conditions, job->axes.key_count, job->axes.key,
                                           job->axes.value};
  (void)printf(
      "brakeweave " BW_VERSION ": faults of %s with %s\n%s"
      "%zu fault%s x %zu condition%s = %zu cell%s, in each the worst start\n\n",
      job->case_path, job->strategy->name,
      job->is_usual_strategy
          ? "The first strategy of the case that uses machines; --strategy takes another.\n"
          : "",
      job->kind_count, job->kind_count == 1 ? "" : "s", conditions, conditions == 1 ? "" : "s",
      cells, cells == 1 ? "" : "s");
  if (loaded->trace.kind == BW_TRACE_SPEED) {
    (void)printf("A fault starts within the %zu decelerations with the greatest braking power\n"
                 "demanded of the sound car, and is judged to the end of that deceleration.\n\n",
                 job->decelerations);
  }
  (void)printf("Conditions (%zu of %zu combinations; each as its difference to the first)\n",
               conditions, job->axes.axes.point_count);
  (void)bw_fault_conditions_print(&view, stdout);
  (void)putchar('\n');
  (void)fflush(stdout);
}

static enum bw_status report(const struct bw_arguments *arguments, const struct bw_case *loaded,
                             struct bw_fault_job *job, size_t rows, struct bw_diag *diag) {
  const struct bw_fault_conditions conditions = {job->axes.plan.count, job->axes.key_count,
                                                 job->axes.key, job->axes.value};
  const struct bw_fault_study study = {&conditions, job->aim.order, job->count, job->cells};
  bw_fault_cells_sort(&study);
  const char *out = bw_arguments_value(arguments, "out");
  if (out != NULL) {
    BW_TRY(bw_fault_cells_write(&study, loaded, out, diag));
  }
  const enum bw_status status = bw_fault_cells_print(&study, rows, stdout);
  return status == BW_E_IO ? BW_OK : status; /* main tells a failed standard output, once */
}

static enum bw_status study(const struct bw_arguments *arguments, const struct bw_case *loaded,
                            struct bw_fault_job *job, struct bw_diag *diag) {
  size_t workers = 1;
  size_t rows = ROWS;
  BW_TRY(bw_jobs_read(arguments, &workers, diag));
  BW_TRY(bw_arguments_whole(arguments, "rows", 1, ROWS_MAX, &rows, diag));
  BW_TRY(prepare(arguments, loaded, job, diag));
  if (bw_arguments_value(arguments, "out") != NULL) {
    BW_TRY(bw_fault_cells_try(bw_arguments_value(arguments, "out"), diag)); /* not after the work */
  }
  print_head(job, loaded);
  bw_interrupt_watch();
  job->progress = bw_progress_make(bw_arguments_has(arguments, "quiet"));
  job->progress.noun = "cell";
  BW_TRY(bw_fault_job_run(job, workers, diag));
  return report(arguments, loaded, job, rows, diag);
}

static int study_case(const struct bw_arguments *arguments,
                      const struct bw_controllers *controllers) {
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const int load_exit = bw_verb_load_case(arguments, controllers, &loaded);
  if (loaded == NULL) {
    return load_exit;
  }
  char data[BW_DATA_DIR_MAX];
  bw_data_dir(data);
  struct bw_fault_job *job = bw_alloc(1, sizeof *job);
  enum bw_status status = BW_E_MEMORY;
  if (job != NULL) {
    job->case_path = arguments->operands[0];
    job->data_dir = data;
    job->controllers = controllers;
    status = study(arguments, loaded, job, &diag);
    for (size_t i = 0; i < job->count && status == BW_OK; i++) {
      status = job->cells[i].status == BW_OK ? BW_OK : BW_E_NUMERIC;
    }
    bw_fault_job_free(job);
  }
  bw_free(job);
  bw_case_destroy(loaded);
  /* a failed cell has said why in its row */
  return diag.count > 0 || status == BW_E_MEMORY ? bw_report_diag(&diag, status)
                                                 : bw_status_exit(status);
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct bw_controllers controllers = {0};
  const enum bw_status status = bw_controllers_load(arguments, &controllers, &diag);
  const int exit_status =
      status == BW_OK ? study_case(arguments, &controllers) : bw_report_diag(&diag, status);
  bw_controllers_free(&controllers);
  return exit_status;
}

const struct bw_verb BW_VERB_FAULTS = {
    .name = "faults",
    .purpose = "Let parts fail at the worst moment under many conditions and tell what it costs",
    .example = "brakeweave faults cases/stop-100.cfg --strategy series --fault machine-trip",
    .usage = "CASE [OPTIONS]",
    .details =
        "Every kind of fault is tried under every condition, and of its start the worst is\n"
        "searched: starts spread evenly, then golden sections around the worst of them. Size,\n"
        "axle, duration and recovery of each kind are those of fault.* in the case.\n"
        "Conditions combine lists of values: --over KEY=VALUE,VALUE or FROM:TO:STEP, else those "
        "of\n"
        "faults.conditions in the case, else two values each of charge, grip, grade, load and\n"
        "speed, the case's own first. --cross pairs takes few combinations in which any two\n"
        "values come together at least once, --cross full takes all.\n"
        "A manoeuvre is judged from the fault to its end. Of a cycle, faults start within the\n"
        "decelerations with the greatest braking power and are judged to the end of that one.\n"
        "DIR/faults.csv has a row per fault and condition, worst first, failed ones last; any\n"
        "number of jobs gives the same bytes. A cell that cannot be run says why, and the exit\n"
        "status is 3. No rating is assigned.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
