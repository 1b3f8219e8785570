/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/evaluate_contained.h"
#include "input/param.h"
#include "strategies/registry.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/** What it costs to run a controller in a process of its own: the very code of `series`, built in
 *  and loaded, turn by turn. See README.md beside this file. Never a test. */

enum { ROUNDS = 41 };

static const struct bw_containment CONTAINMENT = {.deadline = 60.0};

static double now(void) {
  struct timespec time;
  (void)clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int by_size(const void *left, const void *right) {
  const double a = *(const double *)left;
  const double b = *(const double *)right;
  return (a > b) - (a < b);
}

static double median(double *taken) {
  qsort(taken, ROUNDS, sizeof *taken, by_size);
  return taken[ROUNDS / 2];
}

/* s of one run, negative when it failed; `plugin` NULL: built in */
static double time_run(const struct bw_case *loaded, const struct bw_plugin *plugin) {
  struct bw_evaluation evaluation;
  const double start = now();
  const enum bw_status status =
      plugin != NULL ? bw_evaluate_contained(loaded, plugin, &CONTAINMENT, NULL, &evaluation, NULL)
                     : bw_evaluate(loaded, bw_strategy_find("series"), NULL, &evaluation, NULL);
  bw_evaluation_free(&evaluation);
  return status == BW_OK ? now() - start : -1.0;
}

static bool compare(const char *path, const struct bw_plugin *plugin) {
  const struct bw_blend_strategy *strategies[] = {bw_plugin_strategy(plugin)};
  const struct bw_extra_strategies extra = {1, strategies};
  const struct bw_case_source source = {path, "cases", 0, NULL};
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  if (bw_case_load_with(&source, &extra, &loaded, &diag) != BW_OK) {
    (void)fprintf(stderr, "%s\n", diag.line[0]);
    return false;
  }
  double built_in[ROUNDS];
  double contained[ROUNDS];
  double more[ROUNDS];
  bool is_good = time_run(loaded, NULL) > 0.0 && time_run(loaded, plugin) > 0.0;
  for (int i = 0; i < ROUNDS && is_good; i++) {
    built_in[i] = time_run(loaded, NULL);
    contained[i] = time_run(loaded, plugin);
    more[i] = contained[i] - built_in[i];
    is_good = built_in[i] > 0.0 && contained[i] > 0.0;
  }
  if (is_good) {
    printf("%-28s built in %8.3f ms, loaded and contained %8.3f ms, containment costs %.3f ms\n",
           path, median(built_in) * 1e3, median(contained) * 1e3, median(more) * 1e3);
  } else {
    (void)fprintf(stderr, "bench: a run of %s failed\n", path);
  }
  bw_case_destroy(loaded);
  return is_good;
}

int main(int argc, char **argv) {
  struct bw_plugin *plugin = NULL;
  struct bw_diag diag = {0};
  if (argc != 2 || bw_plugin_load(argv[1], &CONTAINMENT, &plugin, &diag) != BW_OK) {
    (void)fprintf(stderr, "%s\n", argc != 2 ? "bench: give the path of twin.so" : diag.line[0]);
    return 2;
  }
  printf("medians of %d runs, turn by turn\n", (int)ROUNDS);
  const bool is_good =
      compare("cases/stop-100.cfg", plugin) && compare("cases/hatchback-wltc.cfg", plugin);
  bw_plugin_unload(plugin);
  return is_good ? 0 : 3;
}
