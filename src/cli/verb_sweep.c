/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "find_job.h"
#include "interrupt.h"
#include "ranks.h"
#include "report_diag.h"
#include "sweep_job.h"
#include "sweep_totals.h"
#include "verbs.h"

static const struct bw_option OPTIONS[] = {
    {"over", "KEY=VALUES", "sweep a key of the case; may be given again", 'v', true},
    {"points", "FILE.csv", "sweep rows of values under keys of the case", 'p', false},
    {"sample", "N", "draw N values for every tolerance of the case, at each point of the grid",
     '\0', false},
    {"sampling", "WORD", "sobol (quasi-random, default) or random", '\0', false},
    {"seed", "NUMBER", "another set of draws (default 0)", '\0', false},
    {"sensitivity", NULL, "with --sample: indices of each tolerance, N (tolerances + 2) runs", '\0',
     false},
    {"find", "CONDITION", "first point where it holds: 'COLUMN>NUMBER' or 'verdict!=kept'", '\0',
     false},
    {"along", "KEY", "with --find: the swept key along which to look", '\0', false},
    {"within", "LENGTH", "with --find: how closely, in the key's unit (default: step/100)", '\0',
     false},
    {"strategy", "NAME", "a strategy, or ./PATH.so; may be given again; 'all': every built-in one",
     't', true},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    BW_OPTION_DEADLINE,
    {"out", "DIR", "folder for sweep.csv and its statistics, needed", 'o', false},
    {"keep", "WHAT", "summary (default), events (results folder per point), traces (with them)",
     'k', false},
    {"resume", NULL, "go on with the unfinished sweep in DIR; a finished one is left as it is", 'r',
     false},
    {"jobs", "N", "worker processes (default: one per processor; under mpirun one per rank)", 'j',
     false},
    {"part", "K/N", "do part K of N only; 'brakeweave join' makes the whole of the parts", '\0',
     false},
    {"progress", NULL, "a progress line every 10 s when standard error is no terminal", '\0',
     false},
    {"quiet", NULL, "no progress on standard error", 'q', false},
    BW_OPTION_HELP,
};

static const struct bw_option_group GROUPS[] = {
    {"over", "What varies"},
    {"find", "Looking for the first value at which something happens"},
    {"strategy", "What runs"},
    {"out", "What is written"},
    {"resume", "How the work is done"},
};

/* `search` is NULL for a plain sweep */
static int report(const struct bw_sweep_job *job, const struct bw_find_job *search) {
  if (search != NULL) {
    return bw_status_exit(job->total.failed > 0 ? BW_E_NUMERIC : BW_OK);
  }
  const struct bw_sweep_totals totals = {.points = job->part.end - job->part.first,
                                         .runs = job->runs,
                                         .failed = job->total.failed,
                                         .missed = job->total.missed};
  return bw_sweep_totals_report(&totals);
}

static enum bw_status conduct(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                              struct bw_find_job *search, struct bw_diag *diag) {
  const bool may_resume = bw_arguments_has(arguments, "resume");
  BW_TRY(search != NULL ? bw_find_job_open(search, may_resume, diag)
                        : bw_sweep_job_open(job, may_resume, diag));
  if (bw_journal_is_done(job->journal)) {
    (void)fprintf(stderr, "brakeweave: %s: was finished before; nothing is left to be done\n",
                  job->out);
  } else {
    job->progress = bw_sweep_progress_make(
        bw_arguments_has(arguments, "quiet"), bw_arguments_has(arguments, "progress"),
        search != NULL ? "searches" : "points", bw_journal_state(job->journal).points,
        search != NULL ? bw_find_job_searches(search) : job->part.end - job->part.first);
    BW_TRY(search != NULL ? bw_find_job_run(search, diag) : bw_sweep_job_run(job, diag));
  }
  return search != NULL ? bw_find_job_finish(search, stdout, diag) : bw_sweep_job_finish(job, diag);
}

/* in the ranks that mpirun started: rank 0 conducts, the others serve */
static int sweep_in_ranks(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                          struct bw_find_job *search, enum bw_status prepared,
                          struct bw_diag *diag) {
  enum bw_status status = search != NULL ? bw_find_job_start_ranks(search, prepared, diag)
                                         : bw_sweep_job_start_ranks(job, prepared, diag);
  if (status != BW_OK) {
    /* the rank that has the message also gives the exit status: at the first one that is not 0 the
     * launcher ends all others, and with them what they were about to say */
    return diag->count > 0 ? bw_report_diag(diag, status) : 0;
  }
  if (!bw_ranks_is_first()) {
    status = bw_ranks_serve(job->ranks, diag);
    return status == BW_OK ? 0 : bw_report_diag(diag, status);
  }
  status = conduct(arguments, job, search, diag);
  return status == BW_OK ? report(job, search) : bw_report_diag(diag, status);
}

static enum bw_status check_find(const struct bw_arguments *arguments, struct bw_diag *diag) {
  static const char *const only_with[] = {"along", "within"};
  const bool is_find = bw_find_is_wanted(arguments);
  for (size_t i = 0; i < sizeof only_with / sizeof only_with[0] && !is_find; i++) {
    if (bw_arguments_has(arguments, only_with[i])) {
      return bw_fail(diag, BW_E_USAGE,
                     "--%s says where to look, not for what; add --find CONDITION", only_with[i]);
    }
  }
  if (is_find && bw_arguments_has(arguments, "sensitivity")) {
    return bw_fail(diag, BW_E_USAGE,
                   "--sensitivity needs every run of a draw and --find runs what its search "
                   "asks for; leave one of them out");
  }
  return is_find && bw_arguments_has(arguments, "keep")
             ? bw_fail(diag, BW_E_USAGE,
                       "--find keeps no files, for most runs of a search are steps on the way; run "
                       "what it reports with 'brakeweave run CASE --set KEY=VALUE --out DIR'")
             : BW_OK;
}

static int sweep(const struct bw_arguments *arguments, const struct bw_controllers *controllers,
                 enum bw_status status, struct bw_diag *diag) {
  int exit_status = 0;
  struct bw_sweep_job job = {.controllers = controllers};
  struct bw_find_job searches = {.sweep = &job};
  struct bw_find_job *search = bw_find_is_wanted(arguments) ? &searches : NULL;
  bw_interrupt_watch();
  if (status == BW_OK) {
    status = check_find(arguments, diag);
  }
  if (status == BW_OK) {
    status = bw_sweep_job_prepare(arguments, &job, diag);
  }
  if (status == BW_OK && search != NULL) {
    status = bw_find_job_read(search, arguments, job.loaded, diag);
  }
  if (bw_ranks_are_launched()) {
    exit_status = sweep_in_ranks(arguments, &job, search, status, diag);
  } else {
    status = status == BW_OK ? conduct(arguments, &job, search, diag) : status;
    exit_status = status == BW_OK ? report(&job, search) : bw_report_diag(diag, status);
  }
  (void)fflush(NULL); /* what is said must be out before ranks are waited for */
  bw_find_job_free(&searches);
  bw_sweep_job_free(&job);
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
  const int exit_status = sweep(arguments, &controllers, status, &diag);
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
        "or strategy=all chooses strategies. --points adds rows of values under a header of keys;\n"
        "a column 'strategy' names the strategy of each row. A swept value wins over --set.\n"
        "\n"
        "DIR/sweep.csv has a row per run: swept keys, status, reason and the columns of\n"
        "summary.csv. Rows of --points change slowest, then the keys in the order given, the last\n"
        "faster, strategies fastest; any number of jobs gives the same bytes. non_dominated\n"
        "compares the strategies of one point. A run that fails is a row with its reason, and the\n"
        "exit status is 3. DIR/sweep-statistics.csv: percentiles, worst case and where,\n"
        "sensitivity, per grid point.\n"
        "\n"
        "--sample draws the tolerances that the case declares (tolerances: { KEY = \"normal:STD\" "
        "},\n"
        "bounded:STD:MIN:MAX, uniform:MIN:MAX, triangular:MIN:MAX; --set tolerances.KEY=...).\n"
        "\n"
        "--find with --along KEY instead scans KEY's values (--over KEY=FROM:TO:STEP, in the "
        "order\n"
        "given) at each other point, then halves to --within: DIR/find.csv and a table.\n"
        "\n"
        "--keep events puts the results folder of point 12 into DIR/runs/00000012, points counted\n"
        "from 1 in the order of the rows.\n"
        "\n"
        "What was killed or interrupted goes on with the same command and --resume; what is done\n"
        "already is not done again. --part is for job arrays: each task does a stretch of the\n"
        "points into a folder of its own. Started by mpirun, all ranks do one sweep together.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .groups = GROUPS,
    .group_count = sizeof GROUPS / sizeof GROUPS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
