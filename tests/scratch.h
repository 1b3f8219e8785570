/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SCRATCH_H
#define BW_SCRATCH_H

/** Small files that a test writes for the code under test to read. Include after check.h. */

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/** A folder of its own per test program; scratch_close() removes what scratch_write() put in. */
struct scratch {
  char folder[64];
  char path[128]; /**< of the file written last */
};

static inline void scratch_open(struct scratch *scratch) {
  (void)snprintf(scratch->folder, sizeof scratch->folder, "/tmp/bw-test-XXXXXX");
  scratch->path[0] = '\0';
  assert_non_null(mkdtemp(scratch->folder));
}

/** Write `length` bytes to FOLDER/input.csv and return its path. */
static inline const char *scratch_write_bytes(struct scratch *scratch, const char *bytes,
                                              size_t length) {
  (void)snprintf(scratch->path, sizeof scratch->path, "%s/input.csv", scratch->folder);
  FILE *stream = fopen(scratch->path, "wb");
  assert_non_null(stream);
  assert_int_equal(fwrite(bytes, 1, length, stream), length);
  assert_int_equal(fclose(stream), 0);
  return scratch->path;
}

static inline const char *scratch_write(struct scratch *scratch, const char *text) {
  return scratch_write_bytes(scratch, text, strlen(text));
}

static inline void scratch_close(struct scratch *scratch) {
  if (scratch->path[0] != '\0') {
    (void)unlink(scratch->path);
  }
  (void)rmdir(scratch->folder);
}

#endif
