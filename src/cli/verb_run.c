/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chosen.h"
#include "data_dir.h"
#include "interrupt.h"
#include "report_diag.h"
#include "run_job.h"
#include "verbs.h"

#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"strategy", "NAME", "a strategy, or ./PATH.so; may be given again; 'all': every built-in one",
     't', true},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"out", "DIR", "write a results folder", 'o', false},
    {"format", "FORMAT", "standard output as text (default), csv or json", 'f', false},
    {"trace", NULL, "write time traces into the results folder (default)", '\0', false},
    {"no-trace", NULL, "write no time traces", '\0', false},
    {"bounds", NULL, "add what the best blend reaches, proven ceilings, price of comfort", '\0',
     false},
    BW_OPTION_DEADLINE,
    {"quiet", NULL, "no progress on standard error", 'q', false},
    {"verbose", NULL, "tell data folder and time taken on standard error", 'v', false},
    BW_OPTION_HELP,
};

enum format { FORMAT_TEXT, FORMAT_CSV, FORMAT_JSON, FORMAT_COUNT };

static enum bw_status read_format(const struct bw_arguments *arguments, enum format *format,
                                  struct bw_diag *diag) {
  static const char *const names[FORMAT_COUNT] = {"text", "csv", "json"};
  const char *word = bw_arguments_value(arguments, "format");
  *format = FORMAT_TEXT;
  if (word == NULL) {
    return BW_OK;
  }
  for (int i = 0; i < FORMAT_COUNT; i++) {
    if (strcmp(word, names[i]) == 0) {
      *format = (enum format)i;
      return BW_OK;
    }
  }
  return bw_fail(diag, BW_E_USAGE, "unknown format '%s'; give text, csv or json", word);
}

static enum bw_status check_trace_options(const struct bw_arguments *arguments,
                                          struct bw_diag *diag) {
  const bool has_trace = bw_arguments_has(arguments, "trace");
  if (has_trace && bw_arguments_has(arguments, "no-trace")) {
    return bw_fail(diag, BW_E_USAGE, "--trace and --no-trace exclude each other; give one");
  }
  if (has_trace && !bw_arguments_has(arguments, "out")) {
    return bw_fail(diag, BW_E_USAGE, "--trace needs a results folder; add --out DIR");
  }
  return BW_OK;
}

static enum bw_status prepare(const struct bw_arguments *arguments, struct bw_run_job *job,
                              struct bw_diag *diag) {
  struct bw_chosen chosen = {0};
  const enum bw_status status =
      bw_chosen_read(arguments, job->controllers, job->loaded, &chosen, diag);
  job->count = chosen.count;
  job->strategies = chosen.strategy;
  BW_TRY(status);
  job->results = bw_alloc(job->count, sizeof *job->results);
  if (job->results == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results");
  }
  if (bw_arguments_has(arguments, "bounds")) {
    job->comfort = bw_contain_share(job->count * sizeof *job->comfort);
    if (job->comfort == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "out of memory for the bounds");
    }
  }
  const char *out = bw_arguments_value(arguments, "out");
  if (out != NULL) {
    BW_TRY(bw_folder_open(out, &job->folder, diag));
    bw_report_left(job->folder);
    job->has_trace = !bw_arguments_has(arguments, "no-trace");
  }
  job->is_verbose = bw_arguments_has(arguments, "verbose");
  job->progress = bw_progress_make(bw_arguments_has(arguments, "quiet"));
  return BW_OK;
}

/* BW_E_IO is not passed on: main tells a failed standard output, once */
static enum bw_status print_results(const struct bw_run_job *job, enum format format) {
  const struct bw_results results = {job->loaded, job->count, job->results};
  enum bw_status status = BW_OK;
  if (format == FORMAT_CSV) {
    (void)bw_write_summary_csv(&results, stdout);
  } else if (format == FORMAT_JSON) {
    (void)bw_write_summary_json(&results, stdout);
  } else {
    status = bw_comparison_print(&results, BW_VERSION, stdout);
  }
  return status == BW_E_IO ? BW_OK : status;
}

static enum bw_status run_job(const struct bw_arguments *arguments, struct bw_run_job *job,
                              enum format format, struct bw_diag *diag) {
  BW_TRY(prepare(arguments, job, diag));
  BW_TRY(bw_run_job_evaluate(job, diag));
  if (job->folder != NULL) {
    BW_TRY(bw_run_job_write(job, diag));
  }
  return print_results(job, format);
}

static int run_case(const struct bw_arguments *arguments, const struct bw_controllers *controllers,
                    enum format format) {
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const int load_exit = bw_verb_load_case(arguments, controllers, &loaded);
  if (loaded == NULL) {
    return load_exit;
  }
  if (bw_arguments_has(arguments, "verbose")) {
    char data[BW_DATA_DIR_MAX];
    bw_data_dir(data);
    (void)fprintf(stderr, "brakeweave: data folder %s\n", data);
  }
  bw_interrupt_watch();
  struct bw_run_job job = {.loaded = loaded, .controllers = controllers};
  const enum bw_status status = run_job(arguments, &job, format, &diag);
  int exit_status = bw_report_diag(&diag, status);
  if (status == BW_OK) {
    exit_status = bw_run_job_exit(&job);
  }
  bw_run_job_free(&job);
  bw_case_destroy(loaded);
  return exit_status;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct bw_controllers controllers = {0};
  enum format format = FORMAT_TEXT;
  enum bw_status status = read_format(arguments, &format, &diag);
  if (status == BW_OK) {
    status = check_trace_options(arguments, &diag);
  }
  if (status == BW_OK) {
    status = bw_controllers_load(arguments, &controllers, &diag);
  }
  const int exit_status =
      status == BW_OK ? run_case(arguments, &controllers, format) : bw_report_diag(&diag, status);
  bw_controllers_free(&controllers);
  return exit_status;
}

const struct bw_verb BW_VERB_RUN = {
    .name = "run",
    .purpose = "Run blending strategies on a case and compare them",
    .example = "brakeweave run cases/hatchback-wltc.cfg --strategy all --out results",
    .usage = "CASE [OPTIONS]",
    .details =
        "CASE is a case file. Without --strategy the case's own list is run, or every strategy.\n"
        "A NAME that holds a '/' is a shared object with your own controller; it runs in a "
        "process\n"
        "of its own, and if it crashes or loops its row says so and the others go on.\n"
        "The results folder holds summary.csv, events.csv, handovers.csv, ledger.csv,\n"
        "waterfall.csv, regeneration-map.csv, trace-STRATEGY.csv and resolved.cfg, with --bounds\n"
        "comfort.csv as well; it appears whole or not at all.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
