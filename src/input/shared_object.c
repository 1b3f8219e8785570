/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/shared_object.h"

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* places and values of the ELF header, System V ABI, generic part, chapter 4 (from memory) */
enum {
  HEAD_SIZE = 18,
  CLASS_AT = 4,
  CLASS_32 = 1,
  CLASS_64 = 2,
  ORDER_AT = 5,
  ORDER_LITTLE = 1,
  TYPE_AT = 16,
  TYPE_OBJECT = 1,
  TYPE_SHARED = 3
};

#define BUILD "build it with cc -shared -fPIC"

static enum bw_status fail_system(const char *path, const char *what, int error,
                                  struct bw_diag *diag) {
  char reason[128] = "unknown error";
  (void)strerror_r(error, reason, sizeof reason);
  return bw_fail_at(diag, BW_E_INPUT, path, 0,
                    "cannot %s this controller (%s); check path and permissions", what, reason);
}

static enum bw_status check_head(const char *path, const unsigned char *head,
                                 struct bw_diag *diag) {
  static const unsigned char magic[4] = {0x7F, 'E', 'L', 'F'};
  if (memcmp(head, magic, sizeof magic) != 0) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "not an ELF file, so no shared object; " BUILD);
  }
  const int class = sizeof(void *) == sizeof(uint64_t) ? CLASS_64 : CLASS_32;
  if (head[CLASS_AT] != class) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      "a shared object for another word size; build it for %d bits",
                      (int)sizeof(void *) * 8);
  }
  const bool is_little = head[ORDER_AT] == ORDER_LITTLE;
  const int type = is_little ? head[TYPE_AT] : head[TYPE_AT + 1];
  if (type == TYPE_OBJECT) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      "an object file that is not linked yet; " BUILD " and give the result");
  }
  if (type != TYPE_SHARED) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      "an ELF file of type %d, but no shared object; " BUILD, type);
  }
  return BW_OK;
}

enum bw_status bw_shared_object_check(const char *path, struct bw_diag *diag) {
  struct stat info;
  if (stat(path, &info) != 0) {
    return fail_system(path, "find", errno, diag);
  }
  if (!S_ISREG(info.st_mode)) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "not a file; give the path of a shared object");
  }
  unsigned char head[HEAD_SIZE] = {0};
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return fail_system(path, "read", errno, diag);
  }
  const size_t count = fread(head, 1, sizeof head, stream);
  (void)fclose(stream);
  if (count < sizeof head) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      "%zu bytes are not an ELF file, so no shared object; " BUILD, count);
  }
  return check_head(path, head, diag);
}
