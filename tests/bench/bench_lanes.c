/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lanes/lanes.h"

#include <stdio.h>
#include <time.h>

/** Times the loop over the sub-steps for one car and for eight side by side, best of several
 *  rounds, in ns per simulated millisecond and car; see README.md beside this file. Never a
 *  test. */

enum { PERIODS = 20000, ROUNDS = 25 };

static double now(void) {
  struct timespec time;
  (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double best_time(const struct lanes_copy *copy, enum lanes_drive drive) {
  struct lanes_result out[LANES_MOST];
  double best = 1e9;
  for (int i = 0; i < ROUNDS; i++) {
    const double start = now();
    copy->run(237, PERIODS, drive, out);
    const double taken = now() - start;
    best = taken < best ? taken : best;
  }
  return best * 1e9 / ((double)PERIODS * LANES_SUBSTEPS * (double)copy->lanes);
}

int main(void) {
  printf("%-20s %12s %12s   ns per simulated ms and car\n", "sub-steps alone", "calm", "wild");
  for (size_t i = 0; lanes_copy_at(i) != NULL; i++) {
    const struct lanes_copy *copy = lanes_copy_at(i);
    if (lanes_is_supported(i)) {
      printf("%-20s %12.2f %12.2f\n", copy->name, best_time(copy, LANES_CALM),
             best_time(copy, LANES_WILD));
    }
  }
  return 0;
}
