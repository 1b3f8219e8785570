/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "jobs.h"

#include <unistd.h>

enum { JOBS_MAX = 1024 };

enum bw_status bw_jobs_read(const struct bw_arguments *arguments, size_t *workers,
                            struct bw_diag *diag) {
  const long online = sysconf(_SC_NPROCESSORS_ONLN);
  *workers = online < 1 ? 1 : online > JOBS_MAX ? JOBS_MAX : (size_t)online;
  return bw_arguments_whole(arguments, "jobs", 1, JOBS_MAX, workers, diag);
}
