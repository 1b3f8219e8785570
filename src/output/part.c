/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/part.h"

#include "output/done_card.h"
#include "output/path.h"

#include <errno.h>
#include <inttypes.h>
#include <string.h>
#include <unistd.h>

enum { BLOCK_SIZE = 65536 };

#define MARK "brakeweave-part-1"

struct bw_part bw_part_make(size_t number, size_t count, size_t points) {
  BW_ASSERT(number >= 1 && number <= count);
  const uint64_t all = points;
  return (struct bw_part){.number = number,
                          .count = count,
                          .points = points,
                          .first = (size_t)(all * (number - 1) / count),
                          .end = (size_t)(all * number / count)};
}

void bw_part_stretch(const struct bw_part *part, const char *keep, char text[BW_STRETCH_MAX]) {
  (void)snprintf(text, BW_STRETCH_MAX, "part %zu of %zu keep %s", part->number, part->count, keep);
}

static bool write_card(const char *path, const struct bw_part_card *card) {
  char line[BW_CHECKED_LINE_MAX];
  const struct bw_part *part = &card->part;
  (void)snprintf(line, sizeof line,
                 MARK " %016" PRIx64 " %zu of %zu points %zu to %zu of %zu keep %s runs %zu failed "
                      "%zu missed %zu size %" PRIu64 " sum %016" PRIx64,
                 card->inputs, part->number, part->count, part->first, part->end, part->points,
                 card->keep, card->runs, card->failed, card->missed, card->size, card->sum);
  return bw_checked_line_put(path, line);
}

enum bw_status bw_part_write(const char *folder, const char *rows_path, struct bw_part_card *card,
                             struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  errno = 0;
  if (!bw_checksum_file(rows_path, &card->size, &card->sum)) {
    return bw_fail_system(folder, "read the rows", diag);
  }
  if (!bw_path_of_table(path, folder, card->table, ".part") || !write_card(path, card)) {
    return bw_fail_system(folder, "write the card of the part", diag);
  }
  return BW_OK;
}

/* points that a part of this number can hold; what a sweep writes always are */
static bool is_part(const struct bw_part *part) {
  if (part->number < 1 || part->number > part->count || part->count > BW_PARTS_MAX ||
      part->points > UINT64_MAX / BW_PARTS_MAX) {
    return false;
  }
  const struct bw_part made = bw_part_make(part->number, part->count, part->points);
  return part->first == made.first && part->end == made.end;
}

static bool parse_card(const char *line, struct bw_part_card *card) {
  struct bw_part *part = &card->part;
  /* NOLINTNEXTLINE(cert-err34-c): the line has its checksum, its numbers are those we wrote */
  return sscanf(line,
                MARK " %" SCNx64 " %zu of %zu points %zu to %zu of %zu keep %15s runs %zu failed "
                     "%zu missed %zu size %" SCNu64 " sum %" SCNx64,
                &card->inputs, &part->number, &part->count, &part->first, &part->end, &part->points,
                card->keep, &card->runs, &card->failed, &card->missed, &card->size,
                &card->sum) == 12 &&
         is_part(part);
}

static bool has(const char *folder, const char *table, const char *ending) {
  char path[BW_FILE_PATH_MAX];
  return bw_path_of_table(path, folder, table, ending) && access(path, F_OK) == 0;
}

/* which table a folder holds a part of */
static enum bw_status choose_table(struct bw_part_source *source, struct bw_diag *diag) {
  const char *folder = source->folder;
  const bool is_sweep = has(folder, "sweep", ".part");
  const bool is_find = has(folder, "find", ".part");
  if (has(folder, "sweep", ".journal") || has(folder, "find", ".journal")) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "holds an unfinished sweep; finish it with its own command and --resume");
  }
  if (is_sweep && is_find) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "holds parts of two things, a sweep and a search; run each into its own "
                      "folder");
  }
  if (!is_sweep && !is_find) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "holds no part of a sweep; name folders that 'brakeweave sweep --part' made");
  }
  source->card.table = is_sweep ? "sweep" : "find";
  return BW_OK;
}

static enum bw_status read_card(struct bw_part_source *source, struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  char line[BW_CHECKED_LINE_MAX];
  const char *folder = source->folder;
  BW_TRY(choose_table(source, diag));
  const char *table = source->card.table;
  FILE *file = bw_path_of_table(path, folder, table, ".part") ? fopen(path, "rb") : NULL;
  const bool is_sound =
      file != NULL && bw_checked_line_read(file, line) && parse_card(line, &source->card);
  if (file != NULL) {
    (void)fclose(file);
  }
  if (!is_sound) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is damaged; run this part again");
  }
  uint64_t size = 0;
  uint64_t sum = 0;
  if (!bw_path_of_table(path, folder, table, ".csv") || !bw_checksum_file(path, &size, &sum) ||
      size != source->card.size || sum != source->card.sum) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "%s.csv is not what this part wrote; run the part again", table);
  }
  return BW_OK;
}

static void sort(struct bw_part_source *sources, size_t count) {
  for (size_t i = 1; i < count; i++) {
    const struct bw_part_source one = sources[i];
    size_t place = i;
    for (; place > 0 && (sources[place - 1].card.part.first > one.card.part.first ||
                         (sources[place - 1].card.part.first == one.card.part.first &&
                          sources[place - 1].card.part.number > one.card.part.number));
         place--) {
      sources[place] = sources[place - 1];
    }
    sources[place] = one;
  }
}

static enum bw_status check_kin(const struct bw_part_source *sources, size_t count,
                                struct bw_diag *diag) {
  const struct bw_part_card *first = &sources[0].card;
  enum bw_status status = BW_OK;
  for (size_t i = 1; i < count; i++) {
    const struct bw_part_card *card = &sources[i].card;
    if (strcmp(card->table, first->table) != 0 || card->inputs != first->inputs ||
        card->part.points != first->part.points || card->runs != first->runs) {
      status = bw_fail_at(diag, BW_E_INPUT, sources[i].folder, 0,
                          "is a part of another sweep than %.200s (other inputs, options or "
                          "program version); leave it out or run it again",
                          sources[0].folder);
    } else if (strcmp(card->keep, first->keep) != 0) {
      status = bw_fail_at(diag, BW_E_INPUT, sources[i].folder, 0,
                          "keeps '%s' and %.200s keeps '%s'; run all parts with the same --keep",
                          card->keep, sources[0].folder, first->keep);
    }
  }
  return status;
}

static enum bw_status fail_missing(const struct bw_part_card *card, size_t from, size_t to,
                                   struct bw_diag *diag) {
  const size_t count = card->part.count;
  for (size_t k = 1; k <= count; k++) {
    const struct bw_part one = bw_part_make(k, count, card->part.points);
    if (one.first == from && one.end > from && one.end <= to) {
      return bw_fail(diag, BW_E_INPUT,
                     "points %zu to %zu of %zu are missing; add the folder of part %zu/%zu%s",
                     from + 1, to, card->part.points, k, count,
                     one.end < to ? " and those after it" : "");
    }
  }
  return bw_fail(diag, BW_E_INPUT,
                 "points %zu to %zu of %zu are missing; add the parts that hold "
                 "them",
                 from + 1, to, card->part.points);
}

/* sorted parts must meet end to end */
static enum bw_status check_tiling(const struct bw_part_source *sources, size_t count,
                                   struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  size_t end = 0;
  size_t holder = 0;
  for (size_t i = 0; i < count; i++) {
    const struct bw_part *part = &sources[i].card.part;
    const bool is_empty = part->first == part->end;
    if (part->first < end && !is_empty) {
      status = bw_fail_at(diag, BW_E_INPUT, sources[i].folder, 0,
                          "holds points (from %zu on) that %.200s holds too; leave one of them out",
                          part->first + 1, sources[holder].folder);
    } else if (part->first > end) {
      status = fail_missing(&sources[i].card, end, part->first, diag);
    }
    if (part->end > end) {
      end = part->end;
      holder = i;
    }
  }
  if (end < sources[0].card.part.points) {
    status = fail_missing(&sources[0].card, end, sources[0].card.part.points, diag);
  }
  return status;
}

enum bw_status bw_part_read_all(struct bw_part_source *sources, size_t count,
                                struct bw_diag *diag) {
  BW_ASSERT(count > 0);
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < count; i++) {
    const enum bw_status one = read_card(&sources[i], diag);
    status = status == BW_OK ? one : status;
  }
  if (status != BW_OK) {
    return status;
  }
  BW_TRY(check_kin(sources, count, diag));
  sort(sources, count);
  return check_tiling(sources, count, diag);
}

/* copy a table, its header line only with `has_header` */
static bool copy_table(FILE *from, FILE *to, bool has_header, uint64_t *sum) {
  unsigned char block[BLOCK_SIZE];
  size_t got = 0;
  bool is_behind = has_header;
  *sum = BW_CHECKSUM_START;
  while ((got = fread(block, 1, sizeof block, from)) > 0) {
    *sum = bw_checksum(*sum, block, got);
    size_t skip = 0;
    if (!is_behind) {
      const unsigned char *end = memchr(block, '\n', got);
      is_behind = end != NULL;
      skip = end != NULL ? (size_t)(end - block) + 1 : got;
    }
    if (fwrite(block + skip, 1, got - skip, to) != got - skip) {
      return false;
    }
  }
  return ferror(from) == 0;
}

enum bw_status bw_part_join(const struct bw_part_source *sources, size_t count, FILE *stream,
                            struct bw_diag *diag) {
  for (size_t i = 0; i < count; i++) {
    char path[BW_FILE_PATH_MAX];
    uint64_t sum = 0;
    errno = 0;
    const bool is_short = bw_path_of_table(path, sources[i].folder, sources[i].card.table, ".csv");
    FILE *file = is_short ? fopen(path, "rb") : NULL;
    if (file == NULL) {
      return bw_fail_system(sources[i].folder, "read its table", diag);
    }
    const bool is_copied = copy_table(file, stream, i == 0, &sum);
    const bool is_full = !is_copied && ferror(file) == 0;
    (void)fclose(file);
    if (is_full) {
      return BW_E_IO;
    }
    if (!is_copied) {
      return bw_fail_system(sources[i].folder, "copy its table", diag);
    }
    if (sum != sources[i].card.sum) {
      return bw_fail_at(diag, BW_E_INPUT, path, 0, "changed while it was read; do it again");
    }
  }
  return BW_OK;
}

enum bw_status bw_part_join_done(const struct bw_part_source *sources, size_t count, size_t kept,
                                 const char *folder, struct bw_diag *diag) {
  const struct bw_part_card *first = &sources[0].card;
  const struct bw_part whole = bw_part_make(1, 1, first->part.points);
  char path[BW_FILE_PATH_MAX];
  char stretch[BW_STRETCH_MAX];
  char title[BW_CHECKED_LINE_MAX];
  bw_part_stretch(&whole, first->keep, stretch);
  bw_journal_title(first->inputs, stretch, title);
  /* a journal of searches counts strategies apart */
  const size_t pieces = strcmp(first->table, "find") == 0 ? first->runs : 1;
  struct bw_done_card card = {title, {.points = whole.points * pieces}, kept};
  for (size_t i = 0; i < count; i++) {
    card.state.failed += sources[i].card.failed;
    card.state.missed += sources[i].card.missed;
  }
  errno = 0;
  return bw_path_of_table(path, folder, first->table, ".csv") &&
                 bw_done_write(folder, first->table, path, &card)
             ? BW_OK
             : bw_fail_system(folder, "write what the table is of", diag);
}
