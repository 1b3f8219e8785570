/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/** Runs a fuzz target on each file of a corpus, one `[       OK ] NAME` or `[  FAILED  ] NAME` line
 *  each. Files run in a child of their own: a crash, a leak or a hang of one is told and the others
 *  still run.  PROGRAM FILE-OR-FOLDER... */

enum {
  SECONDS_MAX = 120 /* a file: far more than any needs, under sanitizers on a busy machine */
};

static int run_file(const char *path) {
  FILE *stream = fopen(path, "rb");
  struct stat info;
  if (stream == NULL || fstat(fileno(stream), &info) != 0) {
    (void)fprintf(stderr, "%s: cannot be read\n", path);
    return 1;
  }
  /* of exactly the size, so that a read beyond it is one beyond the heap's block */
  const size_t size = (size_t)info.st_size;
  uint8_t *bytes = malloc(size > 0 ? size : 1);
  const bool is_read = bytes != NULL && fread(bytes, 1, size, stream) == size;
  (void)fclose(stream);
  if (is_read) {
    (void)LLVMFuzzerTestOneInput(bytes, size);
  }
  free(bytes);
  return is_read ? 0 : 1;
}

static bool run_contained(const char *path) {
  (void)fflush(NULL);
  const pid_t child = fork();
  if (child == 0) {
    (void)alarm(SECONDS_MAX);
    exit(run_file(path)); /* not _exit(): leaks are looked for at the end */
  }
  int ended = 0;
  const bool is_sound = child > 0 && waitpid(child, &ended, 0) == child && WIFEXITED(ended) &&
                        WEXITSTATUS(ended) == 0;
  const char *slash = strrchr(path, '/');
  const char *name = slash != NULL ? slash + 1 : path;
  if (is_sound) {
    (void)printf("[       OK ] %s\n", name);
  } else if (child > 0 && WIFSIGNALED(ended)) {
    (void)printf("[  FAILED  ] %s\n  ended by signal %d\n", name, WTERMSIG(ended));
  } else {
    (void)printf("[  FAILED  ] %s\n", name);
  }
  return is_sound;
}

static int run_folder(const char *path, size_t *files) {
  struct dirent **entry = NULL;
  const int count = scandir(path, &entry, NULL, alphasort);
  int failures = count < 0 ? 1 : 0;
  for (int i = 0; i < count; i++) {
    char file[FUZZ_PATH];
    if (entry[i]->d_name[0] != '.') {
      FUZZ_CHECK(snprintf(file, sizeof file, "%s/%s", path, entry[i]->d_name) < FUZZ_PATH);
      failures += run_contained(file) ? 0 : 1;
      (*files)++;
    }
    free(entry[i]);
  }
  free(entry);
  return failures;
}

int main(int count, char **arguments) {
  int failures = 0;
  size_t files = 0;
  for (int i = 1; i < count; i++) {
    struct stat info;
    if (stat(arguments[i], &info) == 0 && S_ISDIR(info.st_mode)) {
      failures += run_folder(arguments[i], &files);
    } else {
      failures += run_contained(arguments[i]) ? 0 : 1;
      files++;
    }
  }
  if (files == 0) {
    (void)fprintf(stderr, "no file was run; give files or folders of a corpus\n");
    return 2;
  }
  return failures == 0 ? 0 : 1;
}
