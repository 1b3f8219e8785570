/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_plain.h"

#include "assess/evaluate.h"
#include "input/case.h"
#include "strategies/registry.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

/** Times one run of a case, in ns of processor time per simulated millisecond; see README.md beside
 *  this file. Never a test: a busy machine is no defect. */

enum { ROUNDS_MAX = 101 };

/* one thing to time */
struct job {
  const char *name;
  const struct bw_blend_strategy *strategy;
  double *params;
  bool (*run)(const struct job *job, const struct bw_case *loaded);
};

/* processor time, s: a run is one thread, and other programs do not count */
static double now(void) {
  struct timespec time;
  (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static bool run_alone(const struct job *job, const struct bw_case *loaded) {
  return bw_run(loaded, job->strategy, job->params, NULL, 0, NULL) == BW_OK;
}

static bool run_evaluated(const struct job *job, const struct bw_case *loaded) {
  struct bw_evaluation evaluation;
  const enum bw_status status = bw_evaluate(loaded, job->strategy, NULL, &evaluation, NULL);
  bw_evaluation_free(&evaluation);
  return status == BW_OK;
}

static bool run_plain(const struct job *job, const struct bw_case *loaded) {
  struct bench_plain out;
  return bench_plain_run(loaded, job->strategy, job->params, &out);
}

static int by_size(const void *left, const void *right) {
  const double a = *(const double *)left;
  const double b = *(const double *)right;
  return (a > b) - (a < b);
}

/* median of `rounds` runs, s; negative when one failed */
static double median_time(const struct job *job, const struct bw_case *loaded, size_t rounds) {
  double taken[ROUNDS_MAX];
  if (!job->run(job, loaded)) {
    return -1.0;
  }
  for (size_t i = 0; i < rounds; i++) {
    const double start = now();
    if (!job->run(job, loaded)) {
      return -1.0;
    }
    taken[i] = now() - start;
  }
  qsort(taken, rounds, sizeof *taken, by_size);
  return taken[rounds / 2];
}

static double *params_of(const struct bw_case *loaded, const struct bw_blend_strategy *strategy) {
  double *params = calloc(strategy->param_count + 1, sizeof *params);
  if (params != NULL) {
    bw_case_strategy_params(loaded, strategy, params);
  }
  return params;
}

/* greatest memory of the process so far, MiB */
static double memory_peak(void) {
  struct rusage usage;
  (void)getrusage(RUSAGE_SELF, &usage);
  return (double)usage.ru_maxrss / 1024.0;
}

/* print a row against *first, the time of the first one, which is set when it is 0 */
static bool print_row(const struct job *job, const struct bw_case *loaded, size_t rounds,
                      double *first) {
  const double taken = median_time(job, loaded, rounds);
  if (!(taken > 0.0)) {
    (void)fprintf(stderr, "bench: '%s' failed\n", job->name);
    return false;
  }
  *first = *first > 0.0 ? *first : taken;
  const double simulated_ms = bw_trace_duration(&loaded->trace) * 1e3;
  printf("%-44s %9.2f ms %9.1f ns/ms %8.2f x\n", job->name, taken * 1e3, taken * 1e9 / simulated_ms,
         taken / *first);
  return true;
}

/* the plain solver must drive the same car, or its time means nothing */
static void print_agreement(const struct job *series, const struct bw_case *loaded) {
  struct bench_plain plain;
  struct bw_evaluation evaluation;
  if (bench_plain_run(loaded, series->strategy, series->params, &plain) &&
      bw_evaluate(loaded, series->strategy, NULL, &evaluation, NULL) == BW_OK) {
    const double *value = evaluation.summary.value;
    printf("\nsame car? machines at the axle %.1f kJ, plain solver %.1f kJ; distance %.4f and "
           "%.4f km\n",
           value[BW_SUMMARY_ENERGY_MACHINE_AXLE], plain.machine_work * 1e-3,
           value[BW_SUMMARY_DISTANCE], plain.distance * 1e-3);
    bw_evaluation_free(&evaluation);
  }
}

static bool bench(const struct bw_case *loaded, size_t rounds) {
  const struct bw_blend_strategy *series = bw_strategy_find("series");
  const struct bw_blend_strategy *friction = bw_strategy_find("friction-only");
  if (series == NULL || friction == NULL) {
    return false;
  }
  double *series_params = params_of(loaded, series);
  double *friction_params = params_of(loaded, friction);
  const struct job jobs[] = {
      {"series, every assessment", series, series_params, run_evaluated},
      {"series, simulation alone", series, series_params, run_alone},
      {"friction-only, every assessment", friction, friction_params, run_evaluated},
      {"friction-only, simulation alone", friction, friction_params, run_alone},
      {"series, plain GSL odeiv2 rkf45, no assessment", series, series_params, run_plain},
  };
  double first = 0.0;
  double memory = 0.0;
  bool is_good = series_params != NULL && friction_params != NULL;
  for (size_t i = 0; is_good && i < sizeof jobs / sizeof *jobs; i++) {
    const size_t times = jobs[i].run == run_plain ? (rounds + 6) / 7 : rounds;
    memory = jobs[i].run == run_plain ? memory : memory_peak();
    is_good = print_row(&jobs[i], loaded, times, &first);
  }
  if (is_good) {
    print_agreement(&jobs[0], loaded);
    printf("peak memory of the process before the plain solver: %.1f MiB\n", memory);
  }
  free(series_params);
  free(friction_params);
  return is_good;
}

int main(int argc, char **argv) {
  const char *path = argc > 1 ? argv[1] : "cases/hatchback-wltc.cfg";
  const long rounds = argc > 2 ? strtol(argv[2], NULL, 10) : 15;
  if (rounds < 1 || rounds > ROUNDS_MAX) {
    (void)fprintf(stderr, "bench: give 1 to %d rounds\n", ROUNDS_MAX);
    return 2;
  }
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  if (bw_case_load(path, "cases", NULL, 0, &loaded, &diag) != BW_OK) {
    (void)fprintf(stderr, "%s\n", diag.line[0]);
    return 2;
  }
  printf("%s, %.0f s simulated, step %g ms, median of %ld runs\n\n", path,
         bw_trace_duration(&loaded->trace), loaded->step * 1e3, rounds);
  const bool is_good = bench(loaded, (size_t)rounds);
  bw_case_destroy(loaded);
  return is_good ? 0 : 3;
}
