/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/checked_line.h"

#include <inttypes.h>
#include <string.h>

uint64_t bw_checksum(uint64_t sum, const void *bytes, size_t size) {
  const unsigned char *at = bytes;
  for (size_t i = 0; i < size; i++) {
    sum = (sum ^ at[i]) * UINT64_C(0x100000001b3);
  }
  return sum;
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
