/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/** Runs the program's sweeps of growing length on one and two cores and prints how fast they are,
 *  what they need and what they write; see README.md beside this file. Never a test. */

struct sweep {
  const char *name;
  const char *case_path;
  size_t points;
};

/* of one sweep */
struct cost {
  double wall;   /* s */
  double memory; /* KiB, the largest process of the sweep */
  double bytes;  /* of the finished table */
};

static double now(void) {
  struct timespec time;
  (void)clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static _Noreturn void be_program(const char *program, const struct sweep *sweep, const char *out,
                                 int jobs) {
  char over[96];
  char count[16];
  const double step = 30.0 / (double)(sweep->points > 1 ? sweep->points - 1 : 1);
  (void)snprintf(over, sizeof over, "battery.soc_percent=60:%.9g:%.12g", 90.0 + 0.01 * step, step);
  (void)snprintf(count, sizeof count, "%d", jobs);
  (void)dup2(open("/dev/null", O_WRONLY), STDOUT_FILENO);
  (void)execl(program, program, "sweep", sweep->case_path, "--over", over, "--strategy", "series",
              "--out", out, "--jobs", count, (char *)NULL);
  _exit(127);
}

static bool measure(const char *program, const struct sweep *sweep, int jobs, struct cost *cost) {
  char out[] = "/tmp/bench-sweep-XXXXXX";
  char table[64];
  if (mkdtemp(out) == NULL) {
    return false;
  }
  const double start = now();
  const pid_t pid = fork();
  if (pid == 0) {
    be_program(program, sweep, out, jobs);
  }
  int state = 0;
  struct rusage usage; /* of the program and of the workers that it has waited for */
  if (pid < 0 || waitpid(pid, &state, 0) != pid || getrusage(RUSAGE_CHILDREN, &usage) != 0) {
    return false;
  }
  cost->wall = now() - start;
  cost->memory = (double)usage.ru_maxrss;
  struct stat info;
  (void)snprintf(table, sizeof table, "%s/sweep.csv", out);
  const bool is_there = stat(table, &info) == 0;
  cost->bytes = is_there ? (double)info.st_size : 0.0;
  (void)unlink(table);
  (void)rmdir(out);
  return is_there && WIFEXITED(state) && WEXITSTATUS(state) < 2;
}

/* in a process of its own, because what children needed is the greatest of all so far */
static bool measure_apart(const char *program, const struct sweep *sweep, int jobs,
                          struct cost *cost) {
  int ends[2];
  if (pipe(ends) != 0) {
    return false;
  }
  const pid_t pid = fork();
  if (pid == 0) {
    struct cost own = {0};
    const bool is_good = measure(program, sweep, jobs, &own) &&
                         write(ends[1], &own, sizeof own) == (ssize_t)sizeof own;
    _exit(is_good ? 0 : 1);
  }
  (void)close(ends[1]);
  const bool is_read = pid > 0 && read(ends[0], cost, sizeof *cost) == (ssize_t)sizeof *cost;
  (void)close(ends[0]);
  int state = 0;
  (void)waitpid(pid, &state, 0);
  return is_read && state == 0;
}

static bool print_row(const char *program, const struct sweep *sweep) {
  struct cost one = {0};
  struct cost two = {0};
  if (!measure_apart(program, sweep, 1, &one) || !measure_apart(program, sweep, 2, &two)) {
    (void)fprintf(stderr, "the sweep of %s failed\n", sweep->case_path);
    return false;
  }
  const double points = (double)sweep->points;
  (void)printf("%-22s %7zu %9.2f %9.1f %9.2f %9.1f %9.1f %8.1f %8.1f %10.0f\n", sweep->name,
               sweep->points, one.wall, points / one.wall, two.wall, points / two.wall,
               100.0 * one.wall / (2.0 * two.wall), one.memory / 1024.0, two.memory / 1024.0,
               two.bytes);
  return fflush(stdout) == 0;
}

int main(int argc, char **argv) {
  static const struct sweep sweeps[] = {
      {"stop from 100 km/h", "cases/stop-100.cfg", 10},
      {"stop from 100 km/h", "cases/stop-100.cfg", 100},
      {"stop from 100 km/h", "cases/stop-100.cfg", 1000},
      {"stop from 100 km/h", "cases/stop-100.cfg", 10000},
      {"WLTC", "cases/hatchback-wltc.cfg", 10},
      {"WLTC", "cases/hatchback-wltc.cfg", 100},
      {"WLTC", "cases/hatchback-wltc.cfg", 1000},
      {"stop from 100 km/h", "cases/stop-100.cfg", 100000},
  };
  const size_t count = sizeof sweeps / sizeof sweeps[0];
  if (argc < 2 || access(argv[1], X_OK) != 0) {
    (void)fprintf(stderr, "usage: bench_sweep PROGRAM [all], from the source folder\n");
    return 2;
  }
  const bool is_all = argc > 2 && strcmp(argv[2], "all") == 0;
  (void)printf("%-22s %7s %9s %9s %9s %9s %9s %8s %8s %10s\n", "", "", "1 job", "1 job", "2 jobs",
               "2 jobs", "parallel", "1 job", "2 jobs", "");
  (void)printf("%-22s %7s %9s %9s %9s %9s %9s %8s %8s %10s\n", "case", "runs", "s", "runs/s", "s",
               "runs/s", "%", "MiB", "MiB", "bytes");
  for (size_t i = 0; i < count; i++) {
    const bool is_long = sweeps[i].points * (strcmp(sweeps[i].name, "WLTC") == 0 ? 200 : 1) > 50000;
    if ((is_all || !is_long) && !print_row(argv[1], &sweeps[i])) {
      return 1;
    }
  }
  return 0;
}
