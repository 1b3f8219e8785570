/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report_diag.h"
#include "sweep_totals.h"
#include "verbs.h"

#include <string.h>

enum { TABLE_NAME_MAX = 16, RESOLVED_NAME_MAX = 32 };

static const struct bw_option OPTIONS[] = {
    {"out", "DIR", "new or empty folder for the whole, needed", 'o', false},
    BW_OPTION_HELP,
};

static bool is_of_searches(const struct bw_part_source *sources) {
  return strcmp(sources[0].card.table, "find") == 0;
}

static enum bw_status write_table(const struct bw_part_source *sources, size_t count,
                                  const char *name, struct bw_folder *folder,
                                  struct bw_diag *diag) {
  FILE *stream = NULL;
  BW_TRY(bw_folder_create_file(folder, name, &stream, diag));
  const enum bw_status status = bw_part_join(sources, count, stream, diag);
  if (status == BW_E_INPUT) {
    (void)fclose(stream);
    return status;
  }
  return bw_folder_close_file(folder, name, stream, status == BW_OK, diag);
}

/* what goes with the table in `folder` */
static enum bw_status write_company(const struct bw_part_source *sources, size_t count,
                                    const char *name, const char *folder, struct bw_diag *diag) {
  size_t kept = 0; /* points with files */
  char table[BW_PATH_MAX];
  (void)snprintf(table, sizeof table, "%.1000s/%.16s", folder, name);
  if (!is_of_searches(sources)) {
    BW_TRY(bw_sweep_statistics_write(table, folder, diag));
  }
  const bool is_kept = strcmp(sources[0].card.keep, bw_keep_name(BW_KEEP_SUMMARY)) != 0;
  for (size_t i = 0; i < count && is_kept; i++) {
    const struct bw_part *part = &sources[i].card.part;
    BW_TRY(bw_kept_gather(sources[i].folder, folder, part->first, part->end, diag));
    for (size_t point = part->first; point < part->end; point++) {
      kept += bw_kept_is_there(folder, point) ? 1 : 0;
    }
  }
  return bw_part_join_done(sources, count, kept, folder, diag);
}

/* the parameters that all parts have in common; parts of older versions do not tell them */
static enum bw_status copy_resolved(const struct bw_part_source *part, struct bw_folder *folder,
                                    struct bw_diag *diag) {
  char name[RESOLVED_NAME_MAX];
  char path[BW_PATH_MAX];
  char block[4096];
  size_t got = 0;
  FILE *stream = NULL;
  (void)snprintf(name, sizeof name, "%.8s-resolved.cfg", part->card.table);
  (void)snprintf(path, sizeof path, "%.990s/%.31s", part->folder, name);
  FILE *from = fopen(path, "rb");
  if (from == NULL) {
    return BW_OK;
  }
  enum bw_status status = bw_folder_create_file(folder, name, &stream, diag);
  bool is_sound = status == BW_OK;
  while (is_sound && (got = fread(block, 1, sizeof block, from)) > 0) {
    is_sound = fwrite(block, 1, got, stream) == got;
  }
  is_sound = ferror(from) == 0 && is_sound;
  (void)fclose(from);
  return status == BW_OK ? bw_folder_close_file(folder, name, stream, is_sound, diag) : status;
}

static enum bw_status join(const struct bw_part_source *sources, size_t count, const char *out,
                           struct bw_diag *diag) {
  struct bw_folder *folder = NULL;
  char name[TABLE_NAME_MAX];
  (void)snprintf(name, sizeof name, "%.8s.csv", sources[0].card.table);
  BW_TRY(bw_folder_open(out, &folder, diag));
  bw_report_left(folder);
  enum bw_status status = write_table(sources, count, name, folder, diag);
  if (status == BW_OK) {
    status = copy_resolved(&sources[0], folder, diag);
  }
  if (status == BW_OK) {
    status = write_company(sources, count, name, bw_folder_path(folder), diag);
  }
  if (status != BW_OK) {
    bw_kept_discard(bw_folder_path(folder));
    bw_folder_abandon(folder);
    return status;
  }
  return bw_folder_commit(folder, diag);
}

/* searches are told in their table, which also gives the exit status of the search */
static int report_searches(const struct bw_part_source *sources, size_t failed, const char *out,
                           struct bw_diag *diag) {
  char table[BW_PATH_MAX];
  (void)snprintf(table, sizeof table, "%.1000s/%.16s.csv", out, sources[0].card.table);
  const enum bw_status status = bw_edge_print(table, stdout, diag);
  if (status != BW_OK) {
    return bw_report_diag(diag, status);
  }
  return bw_status_exit(failed > 0 ? BW_E_NUMERIC : BW_OK);
}

static int report(const struct bw_part_source *sources, size_t count, const char *out,
                  struct bw_diag *diag) {
  struct bw_sweep_totals totals = {.points = sources[0].card.part.points,
                                   .runs = sources[0].card.runs};
  for (size_t i = 0; i < count; i++) {
    totals.failed += sources[i].card.failed;
    totals.missed += sources[i].card.missed;
  }
  return is_of_searches(sources) ? report_searches(sources, totals.failed, out, diag)
                                 : bw_sweep_totals_report(&totals);
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  const size_t count = arguments->operand_count;
  const char *out = bw_arguments_value(arguments, "out");
  if (out == NULL) {
    const enum bw_status status =
        bw_fail(&diag, BW_E_USAGE, "no folder for the whole given; add --out DIR");
    return bw_report_diag(&diag, status);
  }
  struct bw_part_source *sources = bw_alloc(count, sizeof *sources);
  if (sources == NULL) {
    return bw_report_diag(&diag, BW_E_MEMORY);
  }
  for (size_t i = 0; i < count; i++) {
    sources[i].folder = arguments->operands[i];
  }
  enum bw_status status = bw_part_read_all(sources, count, &diag);
  if (status == BW_OK) {
    status = join(sources, count, out, &diag);
  }
  const int exit_status =
      status == BW_OK ? report(sources, count, out, &diag) : bw_report_diag(&diag, status);
  bw_free(sources);
  return exit_status;
}

const struct bw_verb BW_VERB_JOIN = {
    .name = "join",
    .purpose = "Make one sweep of parts that ran apart",
    .example = "brakeweave join part-1 part-2 part-3 --out whole",
    .usage = "PART... --out DIR",
    .details =
        "PART is a folder that 'brakeweave sweep --part K/N' finished; any order. DIR gets the\n"
        "same bytes as one undisturbed sweep, and the files kept of each point. Parts that are\n"
        "missing, unfinished, damaged, of another sweep or there twice are named, and nothing\n"
        "is written. The exit status is that of the sweep.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "folder of a part",
    .operand_count = 1,
    .takes_more = true,
    .run = run,
};
