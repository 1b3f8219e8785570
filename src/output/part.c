/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/part.h"

#include "output/checked_line.h"
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

/* size and checksum of a file from where it stands */
static bool sum_file(FILE *file, uint64_t *size, uint64_t *sum) {
  unsigned char block[BLOCK_SIZE];
  size_t got = 0;
  *size = 0;
  *sum = BW_CHECKSUM_START;
  while ((got = fread(block, 1, sizeof block, file)) > 0) {
    *sum = bw_checksum(*sum, block, got);
    *size += got;
  }
  return ferror(file) == 0;
}

static bool sum_path(const char *folder, const char *name, uint64_t *size, uint64_t *sum) {
  char path[BW_FILE_PATH_MAX];
  FILE *file = bw_path_join(path, folder, name) ? fopen(path, "rb") : NULL;
  if (file == NULL) {
    return false;
  }
  const bool is_read = sum_file(file, size, sum);
  (void)fclose(file);
  return is_read;
}

static bool write_card(const char *path, const struct bw_part_card *card) {
  char line[BW_CHECKED_LINE_MAX];
  const struct bw_part *part = &card->part;
  (void)snprintf(line, sizeof line,
                 MARK " %016" PRIx64 " %zu of %zu points %zu to %zu of %zu keep %s runs %zu failed "
                      "%zu missed %zu size %" PRIu64 " sum %016" PRIx64,
                 card->inputs, part->number, part->count, part->first, part->end, part->points,
                 card->keep, card->runs, card->failed, card->missed, card->size, card->sum);
  FILE *file = fopen(path, "wb");
  if (file == NULL) {
    return false;
  }
  const bool is_written = bw_checked_line_write(file, line) && fsync(fileno(file)) == 0;
  return fclose(file) == 0 && is_written;
}

enum bw_status bw_part_write(const char *folder, struct bw_part_card *card, struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  char partial[BW_FILE_PATH_MAX];
  errno = 0;
  if (!sum_path(folder, "sweep.csv.partial", &card->size, &card->sum)) {
    return bw_fail_system(folder, "read sweep.csv.partial", diag);
  }
  if (!bw_path_join(path, folder, "sweep.part") ||
      !bw_path_join(partial, folder, "sweep.part.partial") || !write_card(partial, card) ||
      rename(partial, path) != 0) {
    return bw_fail_system(folder, "write sweep.part", diag);
  }
  return BW_OK;
}

static bool parse_card(const char *line, struct bw_part_card *card) {
  struct bw_part *part = &card->part;
  return sscanf(line,
                MARK " %" SCNx64 " %zu of %zu points %zu to %zu of %zu keep %15s runs %zu failed "
                     "%zu missed %zu size %" SCNu64 " sum %" SCNx64,
                &card->inputs, &part->number, &part->count, &part->first, &part->end, &part->points,
                card->keep, &card->runs, &card->failed, &card->missed, &card->size,
                &card->sum) == 12 &&
         part->number >= 1 && part->number <= part->count && part->first <= part->end &&
         part->end <= part->points;
}

static enum bw_status read_card(struct bw_part_source *source, struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  char line[BW_CHECKED_LINE_MAX];
  const char *folder = source->folder;
  if (bw_path_join(path, folder, "sweep.journal") && access(path, F_OK) == 0) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "holds an unfinished sweep; finish it with its own command and --resume");
  }
  FILE *file = bw_path_join(path, folder, "sweep.part") ? fopen(path, "rb") : NULL;
  if (file == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "holds no part of a sweep; name folders that 'brakeweave sweep --part' made");
  }
  const bool is_sound = bw_checked_line_read(file, line) && parse_card(line, &source->card);
  (void)fclose(file);
  if (!is_sound) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is damaged; run this part again");
  }
  uint64_t size = 0;
  uint64_t sum = 0;
  if (!sum_path(folder, "sweep.csv", &size, &sum) || size != source->card.size ||
      sum != source->card.sum) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "sweep.csv is not what this part wrote; run the part again");
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
    if (card->inputs != first->inputs || card->part.points != first->part.points ||
        card->runs != first->runs) {
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
  for (size_t k = 1; k <= count && count <= card->part.points; k++) {
    const struct bw_part one = bw_part_make(k, count, card->part.points);
    if (one.first == from && one.end <= to) {
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
    FILE *file = bw_path_join(path, sources[i].folder, "sweep.csv") ? fopen(path, "rb") : NULL;
    if (file == NULL) {
      return bw_fail_system(sources[i].folder, "read sweep.csv", diag);
    }
    const bool is_copied = copy_table(file, stream, i == 0, &sum);
    (void)fclose(file);
    if (!is_copied) {
      return bw_fail_system(sources[i].folder, "copy sweep.csv", diag);
    }
    if (sum != sources[i].card.sum) {
      return bw_fail_at(diag, BW_E_INPUT, path, 0, "changed while it was read; do it again");
    }
  }
  return BW_OK;
}
