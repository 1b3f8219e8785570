/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The folder of an unfinished sweep and of a part, as sections. A line that ends in " *" gets the
 * checksum that belongs to it, so that hostile numbers are seen behind a sound one. */
#include "fuzz.h"
#include "output/checked_line.h"
#include "output/journal.h"
#include "output/part.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEADER "battery.soc_percent,status\n"

/* the bytes with every " *" at the end of a line replaced */
static char *with_sums(const uint8_t *bytes, size_t size, size_t *length) {
  char *text = NULL;
  FILE *stream = open_memstream(&text, length);
  FUZZ_CHECK(stream != NULL);
  for (size_t at = 0; at < size;) {
    const uint8_t *end = memchr(bytes + at, '\n', size - at);
    const size_t n = end != NULL ? (size_t)(end - bytes) - at : size - at;
    const bool is_summed = n >= 2 && memcmp(bytes + at + n - 2, " *", 2) == 0;
    (void)fwrite(bytes + at, 1, is_summed ? n - 2 : n, stream);
    if (is_summed) {
      (void)fprintf(stream, " %016" PRIx64, bw_checksum(BW_CHECKSUM_START, bytes + at, n - 2));
    }
    if (end != NULL) {
      (void)fputc('\n', stream);
    }
    at += n + 1;
  }
  FUZZ_CHECK(fclose(stream) == 0);
  return text;
}

/* going on, adding a point and going on again keeps all that was there */
static void resume(const char *folder) {
  static const char row[] = "37,done\n";
  const struct bw_journal_plan plan = {
      .inputs = 0xa5, .stretch = "part 1 of 1 keep summary", .header = HEADER};
  struct bw_journal *journal = NULL;
  struct bw_diag diag = {0};
  enum bw_status status = bw_journal_open(folder, &plan, true, &journal, &diag);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK((status == BW_OK) == (journal != NULL));
  if (journal == NULL || bw_journal_is_done(journal)) {
    bw_journal_leave(journal);
    return;
  }
  const struct bw_journal_state before = bw_journal_state(journal);
  const struct bw_journal_state one = {.points = 1, .failed = 1};
  FUZZ_CHECK(bw_journal_add(journal, row, strlen(row), one, &diag) == BW_OK);
  bw_journal_leave(journal);
  FUZZ_CHECK(bw_journal_open(folder, &plan, true, &journal, &diag) == BW_OK);
  const struct bw_journal_state after = bw_journal_state(journal);
  FUZZ_CHECK(after.points == before.points + 1 && after.failed == before.failed + 1 &&
             after.missed == before.missed);
  bw_journal_leave(journal);
}

/* the folder as the first of two parts, then alone */
static void join(const char *folder) {
  for (size_t count = 1; count <= 2; count++) {
    struct bw_part_source sources[2] = {{.folder = folder}, {.folder = folder}};
    struct bw_diag diag = {0};
    const enum bw_status status = bw_part_read_all(sources, count, &diag);
    fuzz_check_outcome(status, &diag);
    char *text = NULL;
    size_t length = 0;
    FILE *stream = open_memstream(&text, &length);
    FUZZ_CHECK(stream != NULL);
    if (status == BW_OK) {
      FUZZ_CHECK(bw_part_join(sources, count, stream, &diag) == BW_OK);
    }
    (void)fclose(stream);
    free(text);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  size_t length = 0;
  char *text = with_sums(bytes, size, &length);
  fuzz_folder_make(&folder);
  fuzz_write_sections(&folder, (const uint8_t *)text, length);
  join(folder.path);
  resume(folder.path);
  free(text);
  fuzz_folder_remove(&folder);
  return 0;
}
