/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CASE_FILES_H
#define BW_CASE_FILES_H

/** Case files that tests write into a folder of their own. Include after check.h. */

#include "whole_case.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FILES_PATH = 512, FILES_MAX = 64 };

/** A folder for the files of one test; remove with files_end(). */
struct test_files {
  char folder[FILES_PATH / 2];
  char root[FILES_PATH / 2]; /**< folder the tests run in, the source root */
  size_t count;
  char path[FILES_MAX][FILES_PATH];
};

static inline void files_begin(struct test_files *files) {
  memset(files, 0, sizeof *files);
  (void)snprintf(files->folder, sizeof files->folder, "/tmp/brakeweave-case-XXXXXX");
  assert_non_null(mkdtemp(files->folder));
  assert_non_null(getcwd(files->root, sizeof files->root));
}

/** Path of `name` in the folder; the file is removed at the end. */
static inline const char *files_path(struct test_files *files, const char *name) {
  assert_true(files->count < FILES_MAX);
  char *path = files->path[files->count++];
  char folder[sizeof files->folder];
  memcpy(folder, files->folder, sizeof folder);
  (void)snprintf(path, FILES_PATH, "%s/%s", folder, name);
  return path;
}

/** Write `length` bytes as `name`; returns its path. */
static inline const char *files_write(struct test_files *files, const char *name, const char *bytes,
                                      size_t length) {
  const char *path = files_path(files, name);
  FILE *stream = fopen(path, "wb");
  assert_non_null(stream);
  assert_int_equal(fwrite(bytes, 1, length, stream), length);
  assert_int_equal(fclose(stream), 0);
  return path;
}

/** Write a case of two lines, the shipped hatchback and the UDDS, followed by `text` from line 3
 *  on; returns its path. */
static inline const char *files_case(struct test_files *files, const char *name, const char *text) {
  char whole[8192];
  const int length = snprintf(
      whole, sizeof whole,
      "@include \"%s/cases/vehicles/small-hatchback.cfg\"\ncycle: { name = \"udds\"; };\n%s",
      files->root, text);
  assert_true(length > 0 && (size_t)length < sizeof whole);
  return files_write(files, name, whole, (size_t)length);
}

/** Load such a case, which must be good. Free with bw_case_destroy(). */
static inline struct bw_case *files_load(struct test_files *files, const char *text) {
  return load_case(files_case(files, "good.cfg", text), NULL, 0);
}

static inline void files_end(struct test_files *files) {
  for (size_t i = 0; i < files->count; i++) {
    (void)remove(files->path[i]);
  }
  assert_int_equal(rmdir(files->folder), 0);
}

#endif
