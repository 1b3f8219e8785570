/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "jobs.h"

#include <string.h>
#include <unistd.h>

enum { JOBS_MAX = 1024 };

enum bw_status bw_jobs_read(const struct bw_arguments *arguments, size_t *workers,
                            struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "jobs");
  double number = 0.0;
  if (word == NULL) {
    const long online = sysconf(_SC_NPROCESSORS_ONLN);
    *workers = online < 1 ? 1 : online > JOBS_MAX ? JOBS_MAX : (size_t)online;
    return BW_OK;
  }
  if (bw_number_parse(word, strlen(word), &number) && number >= 1.0 && number <= JOBS_MAX) {
    *workers = (size_t)number;
    if ((double)*workers >= number) {
      return BW_OK;
    }
  }
  return bw_fail(diag, BW_E_USAGE,
                 "'%.60s' is no number for --jobs; give a whole number, 1 to %d", word, JOBS_MAX);
}
