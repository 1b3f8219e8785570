/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool holds_cycles(const char *folder) {
  char cycles[BW_DATA_DIR_MAX + 16];
  struct stat info;
  const int length = snprintf(cycles, sizeof cycles, "%s/cycles", folder);
  return length > 0 && (size_t)length < sizeof cycles && stat(cycles, &info) == 0 &&
         S_ISDIR(info.st_mode);
}

static bool use(char *path, const char *folder) {
  const int length = snprintf(path, BW_DATA_DIR_MAX, "%s", folder);
  return length > 0 && length < BW_DATA_DIR_MAX;
}

/* folder of the running program, false when the system does not tell */
static bool find_program_folder(char folder[BW_DATA_DIR_MAX]) {
  const ssize_t length = readlink("/proc/self/exe", folder, BW_DATA_DIR_MAX - 1);
  if (length <= 0) {
    return false;
  }
  folder[length] = '\0';
  char *slash = strrchr(folder, '/');
  if (slash == NULL) {
    return false;
  }
  *slash = '\0';
  return true;
}

/* an installed program finds what came with it, even when the installation was moved */
static bool use_installed(char *path, const char *folder) {
  if (strcmp(folder, BW_INSTALLED_BIN) == 0 && holds_cycles(BW_INSTALLED_DATA)) {
    return use(path, BW_INSTALLED_DATA);
  }
  const int length = snprintf(path, BW_DATA_DIR_MAX, "%s/../share/brakeweave", folder);
  return length > 0 && length < BW_DATA_DIR_MAX && holds_cycles(path);
}

void bw_data_dir(char *path) {
  char folder[BW_DATA_DIR_MAX];
  const char *told = getenv("BRAKEWEAVE_DATA");
  if (told != NULL && told[0] != '\0' && use(path, told)) {
    return;
  }
  if (find_program_folder(folder) && use_installed(path, folder)) {
    return;
  }
  if (holds_cycles(BW_SOURCE_DATA) && use(path, BW_SOURCE_DATA)) {
    return;
  }
  (void)use(path, BW_INSTALLED_DATA);
}
