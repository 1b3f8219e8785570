/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report_diag.h"
#include "verbs.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PARTIAL_MAX = 4096 };

static const struct bw_option OPTIONS[] = {
    {"output", "FILE", "the page to write, such as report.html", 'o', false},
    BW_OPTION_HELP,
};

static enum bw_status check_folder(const char *folder, struct bw_diag *diag) {
  struct stat info;
  if (stat(folder, &info) != 0 || !S_ISDIR(info.st_mode)) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0,
                      "is no results folder; name one that run, assess, faults, sweep or join made "
                      "with --out");
  }
  return BW_OK;
}

/* A page on its way to its file. */
struct page {
  FILE *stream;
  char partial[PARTIAL_MAX]; /* written beside the file, then renamed; empty: in place */
};

/* a table or case that is there, such as one of the results, is no page to be replaced */
static bool is_other_file(const char *file) {
  const char *point = strrchr(file, '.');
  return point != NULL && (strcmp(point, ".csv") == 0 || strcmp(point, ".cfg") == 0) &&
         access(file, F_OK) == 0;
}

/* an older page stays until the new one is whole; what is no file (a device, a link) or cannot have
 * another beside it is written as it is */
static enum bw_status open_page(const char *file, struct page *page, struct bw_diag *diag) {
  struct stat info;
  const bool is_new = lstat(file, &info) != 0;
  const int length = snprintf(page->partial, sizeof page->partial, "%s.partial", file);
  page->stream = NULL;
  if (is_other_file(file)) {
    return bw_fail_at(diag, BW_E_USAGE, file, 0,
                      "is there and no page; choose another --output, such as report.html");
  }
  if ((is_new || (S_ISREG(info.st_mode) && access(file, W_OK) == 0)) && length < PARTIAL_MAX) {
    page->stream = fopen(page->partial, "wb");
  }
  if (page->stream == NULL) {
    page->partial[0] = '\0';
    page->stream = fopen(file, "wb");
  }
  return page->stream != NULL
             ? BW_OK
             : bw_fail_at(diag, BW_E_USAGE, file, 0, "cannot be written; choose another --output");
}

static enum bw_status close_page(const char *file, struct page *page, bool is_written,
                                 struct bw_diag *diag) {
  const bool is_beside = page->partial[0] != '\0';
  const bool is_whole = fclose(page->stream) == 0 && is_written;
  if (is_whole && (!is_beside || rename(page->partial, file) == 0)) {
    return BW_OK;
  }
  if (is_beside) {
    (void)unlink(page->partial);
  }
  return bw_fail_at(diag, BW_E_IO, file, 0, "cannot be written whole; make room");
}

/* the page is made in memory first, so that bad input leaves no half of it */
static enum bw_status write_page(const char *folder, const char *file, struct bw_diag *diag) {
  char *text = NULL;
  size_t size = 0;
  FILE *memory = open_memstream(&text, &size);
  if (memory == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  enum bw_status status = bw_report_write(folder, BW_VERSION, memory, diag);
  const bool is_sound = ferror(memory) == 0;
  if ((fclose(memory) != 0 || !is_sound) && status == BW_OK) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  struct page page;
  if (status == BW_OK) {
    status = open_page(file, &page, diag);
  }
  if (status == BW_OK) {
    status = close_page(file, &page, fwrite(text, 1, size, page.stream) == size, diag);
  }
  free(text);
  return status;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  const char *file = bw_arguments_value(arguments, "output");
  if (file == NULL || file[0] == '\0') {
    return bw_report_diag(&diag,
                          bw_fail(&diag, BW_E_USAGE, "no page named; write --output report.html"));
  }
  enum bw_status status = check_folder(arguments->operands[0], &diag);
  if (status == BW_OK) {
    status = write_page(arguments->operands[0], file, &diag);
  }
  return bw_report_diag(&diag, status);
}

const struct bw_verb BW_VERB_REPORT = {
    .name = "report",
    .purpose = "Write one HTML page of a results folder, for a meeting or the file",
    .example = "brakeweave report results -o report.html",
    .usage = "FOLDER --output FILE",
    .details =
        "FOLDER is what run, assess, faults, sweep or join wrote with --out, one of them or\n"
        "several. The page needs nothing from outside: verdict, strategies, figures (draw them\n"
        "with 'brakeweave plot FOLDER' first), hand-overs, balance, requirements, descents,\n"
        "faults, sweep, ledger and checks, assumptions, every parameter, hashes, cautions.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "results folder",
    .operand_count = 1,
    .run = run,
};
