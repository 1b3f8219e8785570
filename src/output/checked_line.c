/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/checked_line.h"

#include "output/path.h"

#include <inttypes.h>
#include <string.h>
#include <unistd.h>

enum { BLOCK_SIZE = 65536 };

uint64_t bw_checksum(uint64_t sum, const void *bytes, size_t size) {
  const unsigned char *at = bytes;
  for (size_t i = 0; i < size; i++) {
    sum = (sum ^ at[i]) * UINT64_C(0x100000001b3);
  }
  return sum;
}

bool bw_checksum_file(const char *path, uint64_t *size, uint64_t *sum) {
  unsigned char block[BLOCK_SIZE];
  size_t got = 0;
  *size = 0;
  *sum = BW_CHECKSUM_START;
  FILE *file = fopen(path, "rb");
  if (file == NULL) {
    return false;
  }
  while ((got = fread(block, 1, sizeof block, file)) > 0) {
    *sum = bw_checksum(*sum, block, got);
    *size += got;
  }
  const bool is_read = ferror(file) == 0;
  (void)fclose(file);
  return is_read;
}

bool bw_checked_line_read(FILE *file, char line[BW_CHECKED_LINE_MAX]) {
  if (fgets(line, BW_CHECKED_LINE_MAX, file) == NULL) {
    return false;
  }
  char *last = strrchr(line, ' ');
  const size_t length = strlen(line);
  if (last == NULL || line[length - 1] != '\n') {
    return false;
  }
  char sum[32];
  (void)snprintf(sum, sizeof sum, " %016" PRIx64 "\n",
                 bw_checksum(BW_CHECKSUM_START, line, (size_t)(last - line)));
  if (strcmp(last, sum) != 0) {
    return false;
  }
  *last = '\0';
  return true;
}

bool bw_checked_line_write(FILE *file, const char *line) {
  return fprintf(file, "%s %016" PRIx64 "\n", line,
                 bw_checksum(BW_CHECKSUM_START, line, strlen(line))) > 0 &&
         fflush(file) == 0;
}

bool bw_checked_line_put(const char *path, const char *line) {
  char partial[BW_FILE_PATH_MAX + sizeof ".partial"];
  (void)snprintf(partial, sizeof partial, "%.*s.partial", BW_FILE_PATH_MAX - 1, path);
  FILE *file = fopen(partial, "wb");
  if (file == NULL) {
    return false;
  }
  const bool is_written = bw_checked_line_write(file, line) && fsync(fileno(file)) == 0;
  return fclose(file) == 0 && is_written && rename(partial, path) == 0;
}
