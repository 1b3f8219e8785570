/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/evaluate.h"
#include "input/case.h"
#include "strategies/registry.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/** How many times faster than real time each shipped manoeuvre is judged on one core, every
 *  assessment on; see README.md beside this file. Never a test: a busy machine is no defect. */

enum { ROUNDS_MAX = 101 };

/* processor time, s */
static double now(void) {
  struct timespec time;
  (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int by_size(const void *left, const void *right) {
  const double a = *(const double *)left;
  const double b = *(const double *)right;
  return (a > b) - (a < b);
}

/* median time (s) of `rounds` evaluations, *simulated: s driven; negative when one failed */
static double median_time(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                          size_t rounds, double *simulated) {
  double taken[ROUNDS_MAX];
  for (size_t i = 0; i < rounds; i++) {
    struct bw_evaluation evaluation;
    const double start = now();
    const enum bw_status status = bw_evaluate(loaded, strategy, NULL, &evaluation, NULL);
    taken[i] = now() - start;
    *simulated = evaluation.summary.value[BW_SUMMARY_DURATION];
    bw_evaluation_free(&evaluation);
    if (status != BW_OK) {
      return -1.0;
    }
  }
  qsort(taken, rounds, sizeof *taken, by_size);
  return taken[rounds / 2];
}

static bool print_row(const char *name, const char *strategy, size_t rounds) {
  char path[128];
  (void)snprintf(path, sizeof path, "cases/manoeuvres/%s.cfg", name);
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  if (bw_case_load(path, "cases", NULL, 0, &loaded, &diag) != BW_OK) {
    (void)fprintf(stderr, "%s\n", diag.line[0]);
    return false;
  }
  double simulated = 0.0;
  /* long ones need fewer rounds */
  const size_t times = bw_trace_duration(&loaded->trace) > 100.0 ? (rounds + 4) / 5 : rounds;
  const double taken = median_time(loaded, bw_strategy_find(strategy), times, &simulated);
  const bool slips = loaded->fidelity == BW_FIDELITY_SLIP;
  bw_case_destroy(loaded);
  if (!(taken > 0.0)) {
    (void)fprintf(stderr, "bench: '%s' failed\n", path);
    return false;
  }
  printf("%-14s %-14s %-8s %9.2f s %9.2f ms %9.0f x\n", name, strategy, slips ? "slip" : "rolling",
         simulated, taken * 1e3, simulated / taken);
  return true;
}

int main(int argc, char **argv) {
  static const char *const NAMES[] = {"gentle-stop",   "firm-stop",   "tip-in-out", "panic-stop",
                                      "snow-stop",     "grip-step",   "hill-hold",  "stop-and-go",
                                      "slippery-bend", "long-descent"};
  const long rounds = argc > 1 ? strtol(argv[1], NULL, 10) : 15;
  if (rounds < 1 || rounds > ROUNDS_MAX) {
    (void)fprintf(stderr, "bench: give 1 to %d rounds\n", ROUNDS_MAX);
    return 2;
  }
  printf("every assessment, median of %ld rounds, processor time of one core\n\n", rounds);
  printf("%-14s %-14s %-8s %11s %12s %11s\n", "manoeuvre", "strategy", "wheels", "simulated",
         "taken", "times real");
  bool is_good = true;
  for (size_t i = 0; is_good && i < sizeof NAMES / sizeof *NAMES; i++) {
    is_good = print_row(NAMES[i], "series", (size_t)rounds) &&
              print_row(NAMES[i], "predictive", (size_t)rounds);
  }
  return is_good ? 0 : 3;
}
