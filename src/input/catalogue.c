/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/catalogue.h"

#include "input/number.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#define MILE 1609.344       /* m, exact */
#define KMH  (1.0 / 3.6)    /* m/s */
#define MPH  (MILE / 3600.) /* m/s */
#define ARTEMIS                                                                                    \
  "M. Andre, Science of the Total Environment 334-335 (2004) 73-84, a research cycle; duration "   \
  "and distance from general knowledge, not read, top speed as counted in the file"

static const struct bw_cycle_entry CYCLES[] = {
    {"wltc-3b", "wltc_class3b.csv", "UN GTR No. 15 Annex 1 and UN R154, class 3b", 1800.0, 23266.0,
     131.3 * KMH},
    {"wltc-2", "wltc_class2.csv",
     "UN GTR No. 15 Annex 1 and UN R154, class 2; totals from general knowledge, not read", 1800.0,
     22649.0, 123.1 * KMH},
    {"udds", "udds.csv", "40 CFR Part 86 Appendix I (a)", 1369.0, 7.45 * MILE, 56.7 * MPH},
    {"hwfet", "hwfet.csv", "40 CFR Part 600 Appendix I", 765.0, 10.26 * MILE, 59.9 * MPH},
    {"us06", "us06.csv", "40 CFR Part 86 Appendix I (g); the table runs on at rest to 600 s", 596.0,
     8.01 * MILE, 80.3 * MPH},
    {"nycc", "nycc.csv", "40 CFR Part 86 Appendix I (e)", 598.0, 1.18 * MILE, 27.7 * MPH},
    {"la92", "la92.csv",
     "40 CFR Part 86 Appendix I (c), first 1435 s; totals from general knowledge, not read", 1435.0,
     9.82 * MILE, 67.2 * MPH},
    {"nedc", "nedc.csv",
     "UN R83 and R101 operating cycle, gear-change time merged into the neighbouring operation",
     1180.0, 11007.0, 120.0 * KMH},
    {"artemis-urban", "artemis_urban.csv", ARTEMIS, 993.0, 4870.0, 57.7 * KMH},
    {"artemis-rural", "artemis_rural.csv", ARTEMIS, 1082.0, 17270.0, 111.5 * KMH},
    {"artemis-motorway-130", "artemis_motorway130.csv", ARTEMIS, 1068.0, 28740.0, 131.8 * KMH},
};
enum { CYCLE_COUNT = sizeof CYCLES / sizeof CYCLES[0] };

size_t bw_cycle_count(void) {
  return CYCLE_COUNT;
}

const struct bw_cycle_entry *bw_cycle_at(size_t index) {
  return index < CYCLE_COUNT ? &CYCLES[index] : NULL;
}

const struct bw_cycle_entry *bw_cycle_find(const char *name) {
  for (size_t i = 0; i < CYCLE_COUNT; i++) {
    if (strcmp(CYCLES[i].name, name) == 0) {
      return &CYCLES[i];
    }
  }
  return NULL;
}

/** `folder`/`middle``name`, or `name` alone without a folder; BW_E_INPUT if it does not fit. */
static enum bw_status join_path(const char *folder, const char *middle, const char *name,
                                struct bw_diag *diag, char *path, size_t path_size) {
  const bool has_folder = folder != NULL && folder[0] != '\0';
  const int length = has_folder ? snprintf(path, path_size, "%s/%s%s", folder, middle, name)
                                : snprintf(path, path_size, "%s%s", middle, name);
  if (length < 0 || (size_t)length >= path_size) {
    return bw_fail(diag, BW_E_INPUT,
                   "path of the cycle '%.100s' is too long; keep it below %zu "
                   "bytes",
                   name, path_size);
  }
  return BW_OK;
}

static bool is_readable(const char *path) {
  struct stat info;
  if (stat(path, &info) != 0 || !S_ISREG(info.st_mode)) {
    return false;
  }
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return false;
  }
  (void)fclose(stream);
  return true;
}

static bool is_path(const char *name) {
  const size_t length = strlen(name);
  return strchr(name, '/') != NULL || (length > 4 && strcmp(name + length - 4, ".csv") == 0);
}

static enum bw_status fail_unknown(const char *name, struct bw_diag *diag) {
  const char *names[CYCLE_COUNT];
  for (size_t i = 0; i < CYCLE_COUNT; i++) {
    names[i] = CYCLES[i].name;
  }
  const size_t near = bw_nearest(name, names, CYCLE_COUNT);
  if (near < CYCLE_COUNT) {
    return bw_fail(diag, BW_E_INPUT,
                   "unknown cycle '%.100s'; did you mean '%s'? (`brakeweave list cycles` shows "
                   "all; a CSV file is named by its path)",
                   name, names[near]);
  }
  return bw_fail(diag, BW_E_INPUT,
                 "unknown cycle '%.100s'; take one of `brakeweave list cycles` or the path of a "
                 "CSV file",
                 name);
}

enum bw_status bw_cycle_path(const char *name, const char *data_dir, const char *base_dir,
                             char *path, size_t path_size, struct bw_diag *diag) {
  const struct bw_cycle_entry *entry = bw_cycle_find(name);
  if (entry != NULL) {
    BW_TRY(join_path(data_dir, "cycles/", entry->file, diag, path, path_size));
    if (!is_readable(path)) {
      return bw_fail(diag, BW_E_INPUT,
                     "no file of the cycle '%s' at %s; name the folder that holds cycles/ or "
                     "install anew",
                     name, path);
    }
    return BW_OK;
  }
  if (!is_path(name)) {
    return fail_unknown(name, diag);
  }
  return join_path(name[0] == '/' ? NULL : base_dir, "", name, diag, path, path_size);
}
