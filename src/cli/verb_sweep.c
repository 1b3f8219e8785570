/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "interrupt.h"
#include "jobs.h"
#include "report_diag.h"
#include "sweep_job.h"
#include "verbs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"over", "KEY=VALUES", "sweep a key of the case; may be given again", 'v', true},
    {"points", "FILE.csv", "sweep rows of numbers under keys of the case", 'p', false},
    {"sample", "N", "draw N values for every tolerance of the case, at each point of the grid",
     '\0', false},
    {"sampling", "WORD", "sobol (quasi-random, default) or random", '\0', false},
    {"seed", "NUMBER", "another set of draws (default 0)", '\0', false},
    {"sensitivity", NULL, "with --sample: indices of each tolerance, N (tolerances + 2) runs", '\0',
     false},
    {"strategy", "NAME", "a strategy to run, or ./PATH.so; may be given again; 'all' built-in ones",
     't', true},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"out", "DIR", "folder for sweep.csv and its statistics, needed", 'o', false},
    {"resume", NULL, "go on with an unfinished sweep in DIR", 'r', false},
    {"jobs", "N", "worker processes (default: one per processor)", 'j', false},
    BW_OPTION_DEADLINE,
    {"progress", NULL, "a progress line every 10 s when standard error is no terminal", '\0',
     false},
    {"quiet", NULL, "no progress on standard error", 'q', false},
    BW_OPTION_HELP,
};

enum { SEED_MAX = 2147483647 };

/* the whole number of option `name`, when it is given */
static enum bw_status read_whole(const struct bw_arguments *arguments, const char *name, double min,
                                 double max, double *number, struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, name);
  double read = 0.0;
  if (word == NULL) {
    return BW_OK;
  }
  if (!bw_number_parse(word, strlen(word), &read) || !(read >= min) || !(read <= max) ||
      read - floor(read) > 0.0) {
    return bw_fail(diag, BW_E_USAGE,
                   "'%.60s' is no number for --%s; give a whole number, %.0f to %.0f", word, name,
                   min, max);
  }
  *number = read;
  return BW_OK;
}

static void add_strategy(struct bw_sweep_job *job, const struct bw_blend_strategy *strategy) {
  for (size_t i = 0; i < job->strategy_count; i++) {
    if (job->strategies[i] == strategy) {
      return;
    }
  }
  job->strategies[job->strategy_count++] = strategy;
}

static enum bw_status add_named(struct bw_sweep_job *job, const char *name, struct bw_diag *diag) {
  const struct bw_blend_strategy *strategy = NULL;
  if (strcmp(name, "all") == 0) {
    for (size_t i = 0; i < bw_strategy_count(); i++) {
      add_strategy(job, bw_strategy_at(i));
    }
    return BW_OK;
  }
  BW_TRY(bw_controllers_strategy(job->controllers, name, &strategy, diag));
  add_strategy(job, strategy);
  return BW_OK;
}

/* words of --over strategy=NAME,NAME */
static enum bw_status add_list(struct bw_sweep_job *job, const char *names, struct bw_diag *diag) {
  while (names != NULL) {
    char name[BW_SWEEP_VALUE_MAX];
    const char *comma = strchr(names, ',');
    const size_t length = comma != NULL ? (size_t)(comma - names) : strlen(names);
    (void)snprintf(name, sizeof name, "%.*s", length < sizeof name ? (int)length : 0, names);
    BW_TRY(add_named(job, name, diag));
    names = comma != NULL ? comma + 1 : NULL;
  }
  return BW_OK;
}

static const char STRATEGY_AXIS[] = "strategy=";

static bool is_strategy_axis(const struct bw_setting *setting) {
  return strcmp(setting->option->name, "over") == 0 &&
         strncmp(setting->value, STRATEGY_AXIS, sizeof STRATEGY_AXIS - 1) == 0;
}

/* what the command line names, else what the case names, else every strategy */
static enum bw_status choose_strategies(const struct bw_arguments *arguments,
                                        struct bw_sweep_job *job, const struct bw_case *loaded,
                                        struct bw_diag *diag) {
  const size_t most = bw_strategy_count() + BW_CASE_STRATEGIES_MAX + job->controllers->count;
  job->strategies = bw_alloc(most, sizeof(const struct bw_blend_strategy *));
  if (job->strategies == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the strategies");
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "strategy") == 0) {
      BW_TRY(add_named(job, setting->value, diag));
    } else if (is_strategy_axis(setting)) {
      BW_TRY(add_list(job, setting->value + sizeof STRATEGY_AXIS - 1, diag));
    }
  }
  const bool are_named = job->strategy_count > 0;
  for (size_t i = 0; i < loaded->strategy_count && !are_named; i++) {
    add_strategy(job, loaded->strategies[i]);
  }
  return job->strategy_count > 0 ? BW_OK : add_named(job, "all", diag);
}

static enum bw_status read_sampling(const struct bw_arguments *arguments,
                                    enum bw_sampling *sampling, struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "sampling");
  *sampling = BW_SAMPLING_SOBOL;
  if (word == NULL || strcmp(word, "sobol") == 0) {
    return BW_OK;
  }
  if (strcmp(word, "random") == 0) {
    *sampling = BW_SAMPLING_RANDOM;
    return BW_OK;
  }
  return bw_fail(diag, BW_E_USAGE, "unknown sampling '%.60s'; give sobol or random", word);
}

static enum bw_status add_sample(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                 const struct bw_case *loaded, struct bw_diag *diag) {
  static const char *const only_with[] = {"sampling", "seed", "sensitivity"};
  for (size_t i = 0; i < sizeof only_with / sizeof only_with[0]; i++) {
    if (!bw_arguments_has(arguments, "sample") && bw_arguments_has(arguments, only_with[i])) {
      return bw_fail(diag, BW_E_USAGE, "--%s says how to draw, not how often; add --sample N",
                     only_with[i]);
    }
  }
  if (!bw_arguments_has(arguments, "sample")) {
    return BW_OK;
  }
  double count = 0.0;
  double seed = 0.0;
  struct bw_draws_setup setup = {.is_sensitivity = bw_arguments_has(arguments, "sensitivity")};
  struct bw_draws *draws = NULL;
  BW_TRY(read_whole(arguments, "sample", 1.0, BW_DRAWS_MAX, &count, diag));
  BW_TRY(read_whole(arguments, "seed", 0.0, SEED_MAX, &seed, diag));
  BW_TRY(read_sampling(arguments, &setup.sampling, diag));
  setup.count = (size_t)count;
  setup.seed = (unsigned long)seed;
  BW_TRY(bw_draws_create(loaded, &setup, &draws, diag));
  const enum bw_status status = bw_sweep_plan_draws(&job->plan, draws, diag);
  if (status != BW_OK) {
    bw_draws_destroy(draws);
  }
  return status;
}

static enum bw_status make_plan(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                const struct bw_case *loaded, struct bw_diag *diag) {
  const struct bw_param_table *table = bw_case_params(loaded);
  const char *points = bw_arguments_value(arguments, "points");
  job->plan.point_count = 1;
  if (points != NULL) {
    BW_TRY(bw_csv_read(points, &job->points, diag));
    BW_TRY(bw_sweep_plan_points(&job->plan, table, &job->points, diag));
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "over") == 0 && !is_strategy_axis(setting)) {
      BW_TRY(bw_sweep_plan_add(&job->plan, table, setting->value, diag));
    }
  }
  if (!bw_arguments_has(arguments, "over") && points == NULL &&
      !bw_arguments_has(arguments, "sample")) {
    return bw_fail(diag, BW_E_USAGE,
                   "nothing to sweep; add --over KEY=VALUES, --points FILE or --sample N");
  }
  return add_sample(arguments, job, loaded, diag);
}

static enum bw_status take_sets(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                struct bw_diag *diag) {
  job->sets = bw_alloc(arguments->setting_count + 1, sizeof *job->sets);
  if (job->sets == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the settings");
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "set") == 0) {
      job->sets[job->set_count++] = arguments->settings[i].value;
    }
  }
  return BW_OK;
}

static enum bw_status open_journal(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                   const struct bw_case *loaded, struct bw_diag *diag) {
  struct bw_journal_plan plan = {0};
  BW_TRY(bw_sweep_job_inputs(job, loaded, &plan.inputs, diag));
  char *header = bw_sweep_job_header(job);
  if (header == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the sweep");
  }
  plan.header = header;
  const enum bw_status status =
      bw_journal_open(bw_arguments_value(arguments, "out"), &plan,
                      bw_arguments_has(arguments, "resume"), &job->journal, diag);
  free(header); /* NOLINT: of open_memstream */
  return status;
}

static enum bw_status sweep(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                            const struct bw_case *loaded, struct bw_diag *diag) {
  size_t workers = 1;
  BW_TRY(bw_jobs_read(arguments, &workers, diag));
  BW_TRY(take_sets(arguments, job, diag));
  BW_TRY(choose_strategies(arguments, job, loaded, diag));
  BW_TRY(make_plan(arguments, job, loaded, diag));
  BW_TRY(open_journal(arguments, job, loaded, diag));
  job->progress = bw_sweep_progress_make(
      bw_arguments_has(arguments, "quiet"), bw_arguments_has(arguments, "progress"),
      bw_journal_state(job->journal).points, job->plan.point_count);
  return bw_sweep_job_run(job, workers, diag);
}

/* statistics first: killed in between, the sweep is still one to go on with */
static enum bw_status finish(struct bw_sweep_job *job, const char *folder, struct bw_diag *diag) {
  BW_TRY(bw_sweep_statistics_write(bw_journal_rows_path(job->journal), folder, diag));
  struct bw_journal *journal = job->journal;
  job->journal = NULL;
  return bw_journal_finish(journal, diag);
}

/* as 'run' does: a failed run, else a missed limit */
static int report(const struct bw_sweep_job *job, const struct bw_journal_state *state) {
  (void)printf("%zu points, %zu runs: %zu failed, %zu missed an acceptance limit\n",
               job->plan.point_count, job->plan.point_count * job->strategy_count, state->failed,
               state->missed);
  if (state->failed > 0) {
    return bw_status_exit(BW_E_NUMERIC);
  }
  return bw_status_exit(state->missed > 0 ? BW_E_LIMIT : BW_OK);
}

static int sweep_case(const struct bw_arguments *arguments,
                      const struct bw_controllers *controllers) {
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const int load_exit = bw_verb_load_case(arguments, controllers, &loaded);
  if (loaded == NULL) {
    return load_exit;
  }
  char data[BW_DATA_DIR_MAX];
  bw_data_dir(data);
  bw_interrupt_watch();
  struct bw_sweep_job job = {
      .case_path = arguments->operands[0], .data_dir = data, .controllers = controllers};
  struct bw_journal_state state = {0};
  enum bw_status status = sweep(arguments, &job, loaded, &diag);
  if (status == BW_OK) {
    state = bw_journal_state(job.journal);
    status = finish(&job, bw_arguments_value(arguments, "out"), &diag);
  }
  const int exit_status = status == BW_OK ? report(&job, &state) : bw_report_diag(&diag, status);
  bw_sweep_job_free(&job);
  bw_case_destroy(loaded);
  return exit_status;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct bw_controllers controllers = {0};
  enum bw_status status = BW_OK;
  if (!bw_arguments_has(arguments, "out")) {
    status = bw_fail(&diag, BW_E_USAGE, "no folder for the rows given; add --out DIR");
  }
  if (status == BW_OK) {
    status = bw_controllers_load(arguments, &controllers, &diag);
  }
  const int exit_status =
      status == BW_OK ? sweep_case(arguments, &controllers) : bw_report_diag(&diag, status);
  bw_controllers_free(&controllers);
  return exit_status;
}

const struct bw_verb BW_VERB_SWEEP = {
    .name = "sweep",
    .purpose = "Run strategies over many values of any keys of a case",
    .example = "brakeweave sweep cases/stop-100.cfg --over battery.soc_percent=5:95:30 --out sweep",
    .usage = "CASE [--over KEY=VALUES] [--sample N] --out DIR [OPTIONS]",
    .details =
        "VALUES are separated by commas: numbers, FROM:TO:STEP, FROM:TO:xFACTOR (multiplied), or\n"
        "words for a key that is no number; 'cycle' stands for cycle.name, and strategy=NAME,NAME\n"
        "or strategy=all chooses strategies. --points adds rows of numbers under a header of "
        "keys.\n"
        "DIR/sweep.csv has a row per run: swept keys, status, reason and the columns of\n"
        "summary.csv. Rows of --points change slowest, then the keys in the order given, the last\n"
        "faster, strategies fastest; any number of jobs gives the same bytes. A swept value wins\n"
        "over --set. non_dominated compares the strategies of one point.\n"
        "--sample draws the tolerances that the case declares (tolerances: { KEY = \"normal:STD\" "
        "},\n"
        "bounded:STD:MIN:MAX, uniform:MIN:MAX, triangular:MIN:MAX; --set tolerances.KEY=...).\n"
        "DIR/sweep-statistics.csv: percentiles, worst case and where, sensitivity, per grid "
        "point.\n"
        "A run that fails is a row with its reason, and the exit status is 3. What was killed or\n"
        "interrupted goes on with the same command and --resume.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
