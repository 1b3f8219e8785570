/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "find_job.h"
#include "jobs.h"
#include "ranks.h"
#include "sweep_job.h"
#include "sweep_strategies.h"

#include <stdlib.h>
#include <string.h>

enum { SEED_MAX = 2147483647 };

/* under a launcher one, because that says how many ranks there are */
static enum bw_status read_workers(const struct bw_arguments *arguments, size_t *workers,
                                   struct bw_diag *diag) {
  *workers = 1;
  return bw_ranks_are_launched() && !bw_arguments_has(arguments, "jobs")
             ? BW_OK
             : bw_jobs_read(arguments, workers, diag);
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
  size_t seed = 0;
  struct bw_draws_setup setup = {.is_sensitivity = bw_arguments_has(arguments, "sensitivity")};
  struct bw_draws *draws = NULL;
  BW_TRY(bw_arguments_whole(arguments, "sample", 1, BW_DRAWS_MAX, &setup.count, diag));
  BW_TRY(bw_arguments_whole(arguments, "seed", 0, SEED_MAX, &seed, diag));
  BW_TRY(read_sampling(arguments, &setup.sampling, diag));
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
    BW_TRY(bw_csv_read_words(points, &job->points, diag));
    BW_TRY(bw_sweep_plan_points(&job->plan, table, &job->points, diag));
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "over") == 0 && !bw_sweep_is_strategy_axis(setting) &&
        !bw_find_is_axis(arguments, setting)) {
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

/* K/N, or the whole */
static enum bw_status read_part(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "part");
  job->part = bw_part_make(1, 1, job->plan.point_count);
  if (word == NULL) {
    return BW_OK;
  }
  const char *slash = strchr(word, '/');
  double number = 0.0;
  double count = 0.0;
  if (slash == NULL || !bw_number_parse(word, (size_t)(slash - word), &number) ||
      !bw_number_parse(slash + 1, strlen(slash + 1), &count) ||
      !(number >= 1.0 && number <= count && count <= BW_PARTS_MAX) ||
      (double)(size_t)number < number || (double)(size_t)count < count) {
    return bw_fail(diag, BW_E_USAGE,
                   "'%.80s' is no part; give --part K/N, whole numbers with K from 1 to N, N up to "
                   "%d",
                   word, BW_PARTS_MAX);
  }
  job->is_part = true;
  job->part = bw_part_make((size_t)number, (size_t)count, job->plan.point_count);
  return BW_OK;
}

static enum bw_status read_keep(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "keep");
  job->keep = BW_KEEP_SUMMARY;
  return word != NULL ? bw_keep_parse(word, &job->keep, diag) : BW_OK;
}

static enum bw_status load_case(struct bw_sweep_job *job, struct bw_diag *diag) {
  const struct bw_case_source source = {job->case_path, job->data_dir, job->set_count, job->sets};
  const struct bw_extra_strategies extra = bw_controllers_extra(job->controllers);
  /* as any verb loads it, for every message; then once more for all the points */
  enum bw_status status = bw_case_load_with(&source, &extra, &job->loaded, diag);
  if (status == BW_OK) {
    status = bw_case_base_read(&source, &extra, &job->base, diag);
  }
  struct bw_case *first = NULL; /* so that workers find its trace in memory that they share */
  if (status == BW_OK) {
    status = bw_case_derive(job->base, NULL, 0, &first, diag);
  }
  bw_case_destroy(first);
  return status;
}

enum bw_status bw_sweep_job_prepare(const struct bw_arguments *arguments, struct bw_sweep_job *job,
                                    struct bw_diag *diag) {
  bw_data_dir(job->data_dir);
  job->case_path = arguments->operands[0];
  job->out = bw_arguments_value(arguments, "out");
  BW_TRY(read_workers(arguments, &job->workers, diag));
  BW_TRY(bw_arguments_overrides(arguments, 0, &job->sets, &job->set_count, diag));
  BW_TRY(load_case(job, diag));
  BW_TRY(make_plan(arguments, job, job->loaded, diag));
  BW_TRY(bw_sweep_strategies_choose(arguments, job, diag));
  BW_TRY(read_part(arguments, job, diag));
  BW_TRY(read_keep(arguments, job, diag));
  return bw_sweep_job_inputs(job, job->loaded, &job->inputs, diag);
}
