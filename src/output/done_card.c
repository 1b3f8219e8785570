/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/done_card.h"

#include "output/path.h"

#include <inttypes.h>
#include <string.h>
#include <unistd.h>

/* between the title and what became of it */
#define MIDDLE " done "

bool bw_done_write(const char *folder, const char *table, const char *rows_path,
                   const struct bw_done_card *card) {
  char path[BW_FILE_PATH_MAX];
  char line[BW_CHECKED_LINE_MAX];
  uint64_t size = 0;
  uint64_t sum = 0;
  if (!bw_path_of_table(path, folder, table, ".done") ||
      !bw_checksum_file(rows_path, &size, &sum)) {
    return false;
  }
  (void)snprintf(line, sizeof line,
                 "%s" MIDDLE "points %zu failed %zu missed %zu kept %zu size %" PRIu64
                 " sum %016" PRIx64,
                 card->title, card->state.points, card->state.failed, card->state.missed,
                 card->kept, size, sum);
  return bw_checked_line_put(path, line);
}

/* the card's line without its checksum */
static bool read_line(const char *folder, const char *table, char line[BW_CHECKED_LINE_MAX]) {
  char path[BW_FILE_PATH_MAX];
  FILE *file = bw_path_of_table(path, folder, table, ".done") ? fopen(path, "rb") : NULL;
  if (file == NULL) {
    return false;
  }
  const bool is_sound = bw_checked_line_read(file, line);
  (void)fclose(file);
  return is_sound;
}

enum bw_done bw_done_read(const char *folder, const char *table, struct bw_done_card *card) {
  char path[BW_FILE_PATH_MAX];
  char line[BW_CHECKED_LINE_MAX];
  uint64_t wanted_size = 0;
  uint64_t wanted_sum = 0;
  uint64_t size = 0;
  uint64_t sum = 0;
  if (!read_line(folder, table, line)) {
    return BW_DONE_NOT;
  }
  struct bw_journal_state *state = &card->state;
  char *rest = strstr(line, MIDDLE);
  if (rest == NULL ||
      /* NOLINTNEXTLINE(cert-err34-c): the line has its checksum, its numbers are those we wrote */
      sscanf(rest, MIDDLE "points %zu failed %zu missed %zu kept %zu size %" SCNu64 " sum %" SCNx64,
             &state->points, &state->failed, &state->missed, &card->kept, &wanted_size,
             &wanted_sum) != 6) {
    return BW_DONE_NOT;
  }
  if (!bw_path_of_table(path, folder, table, ".csv") || !bw_checksum_file(path, &size, &sum) ||
      size != wanted_size || sum != wanted_sum) {
    return BW_DONE_NOT;
  }
  *rest = '\0';
  return strcmp(line, card->title) == 0 ? BW_DONE_SAME : BW_DONE_OTHER;
}

void bw_done_forget(const char *folder, const char *table) {
  char path[BW_FILE_PATH_MAX];
  if (bw_path_of_table(path, folder, table, ".done")) {
    (void)unlink(path);
  }
}
