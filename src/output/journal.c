/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/journal.h"

#include "alloc.h"
#include "output/kept.h"
#include "output/path.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { NAME_SIZE = 64, BLOCK_SIZE = 4096 };

#define MARK "brakeweave-sweep-1"

struct bw_journal {
  char path[BW_FILE_PATH_MAX];     /* folder */
  char rows[BW_FILE_PATH_MAX];     /* sweep.csv.partial */
  char table[BW_FILE_PATH_MAX];    /* sweep.csv */
  char log_path[BW_FILE_PATH_MAX]; /* sweep.journal */
  FILE *rows_file;
  FILE *log_file;
  uint64_t end; /* bytes of sound rows */
  struct bw_journal_state state;
};

static enum bw_status fail_system(const struct bw_journal *journal, const char *what,
                                  struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  return bw_fail_at(diag, BW_E_IO, journal->path, 0,
                    "cannot %s (%s); mend that and go on with --resume", what,
                    bw_reason(errno, text));
}

static bool is_ours(const char *name) {
  static const char *const names[] = {".",
                                      "..",
                                      "sweep.csv",
                                      "sweep.csv.partial",
                                      "sweep.journal",
                                      "sweep.part",
                                      "sweep.part.partial",
                                      BW_KEPT_FOLDER,
                                      "sweep.columns",
                                      "sweep-statistics.csv",
                                      "sweep-statistics.csv.partial",
                                      "find.csv",
                                      "find.csv.partial",
                                      "find.journal"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    if (strcmp(name, names[i]) == 0) {
      return true;
    }
  }
  return false;
}

static enum bw_status check_folder(const struct bw_journal *journal, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  if (mkdir(journal->path, 0777) == 0) {
    return BW_OK;
  }
  DIR *stream = errno == EEXIST ? opendir(journal->path) : NULL;
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "cannot be used as results folder (%s); choose another --out",
                      bw_reason(errno, text));
  }
  bool is_foreign = false;
  for (;;) {
    /* one's own stream is safe, strict readings of POSIX aside */
    const struct dirent *entry = readdir(stream); /* NOLINT(concurrency-mt-unsafe) */
    if (entry == NULL) {
      break;
    }
    is_foreign = is_foreign || !is_ours(entry->d_name);
  }
  (void)closedir(stream);
  if (is_foreign) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "folder holds files that are no sweep; name a new or empty folder");
  }
  return BW_OK;
}

static FILE *open_kept(const char *path) {
  const int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  return file < 0 ? NULL : fdopen(file, "r+b");
}

/* checksum of the rows from where `file` stands up to `count` bytes further */
static bool sum_rows(FILE *file, uint64_t count, uint64_t *sum) {
  unsigned char block[BLOCK_SIZE];
  *sum = BW_CHECKSUM_START;
  while (count > 0) {
    const size_t wanted = count < BLOCK_SIZE ? (size_t)count : BLOCK_SIZE;
    if (fread(block, 1, wanted, file) != wanted) {
      return false;
    }
    *sum = bw_checksum(*sum, block, wanted);
    count -= wanted;
  }
  return true;
}

/* take one journalled point; false when it is torn or its rows are not what they were */
static bool take_point(struct bw_journal *journal, const struct bw_journal_plan *plan) {
  char line[BW_CHECKED_LINE_MAX];
  size_t point = 0;
  uint64_t end = 0;
  uint64_t wanted = 0;
  uint64_t sum = 0;
  struct bw_journal_state one = {0};
  if (!bw_checked_line_read(journal->log_file, line) ||
      sscanf(line, "%zu %" SCNu64 " %" SCNx64 " %zu %zu", &point, &end, &wanted, &one.failed,
             &one.missed) != 5) {
    return false;
  }
  if (point != journal->state.points || end < journal->end ||
      !sum_rows(journal->rows_file, end - journal->end, &sum) || sum != wanted) {
    return false;
  }
  if (plan->is_kept != NULL && !plan->is_kept(plan->context, point, &one)) {
    return false;
  }
  journal->end = end;
  journal->state.points++;
  journal->state.failed += one.failed;
  journal->state.missed += one.missed;
  return true;
}

/* cut both files behind what is sound and stand there */
static bool cut(const struct bw_journal *journal, long log_end) {
  return ftruncate(fileno(journal->rows_file), (off_t)journal->end) == 0 &&
         ftruncate(fileno(journal->log_file), (off_t)log_end) == 0 &&
         fseek(journal->rows_file, (long)journal->end, SEEK_SET) == 0 &&
         fseek(journal->log_file, log_end, SEEK_SET) == 0;
}

static bool start_anew(struct bw_journal *journal, const struct bw_journal_plan *plan,
                       const char *title) {
  journal->end = 0;
  journal->state = (struct bw_journal_state){0};
  char part[BW_FILE_PATH_MAX]; /* of an earlier sweep */
  if (bw_path_join(part, journal->path, "sweep.part")) {
    (void)unlink(part);
  }
  if (!cut(journal, 0) || !bw_checked_line_write(journal->log_file, title) ||
      fputs(plan->header, journal->rows_file) == EOF || fflush(journal->rows_file) != 0) {
    return false;
  }
  journal->end = strlen(plan->header);
  return true;
}

static bool take_points(struct bw_journal *journal, const struct bw_journal_plan *plan,
                        const char *title) {
  uint64_t sum = 0;
  const size_t length = strlen(plan->header);
  if (!sum_rows(journal->rows_file, length, &sum) ||
      sum != bw_checksum(BW_CHECKSUM_START, plan->header, length)) {
    return start_anew(journal, plan, title);
  }
  journal->end = length;
  long log_end = ftell(journal->log_file);
  while (take_point(journal, plan)) {
    log_end = ftell(journal->log_file);
  }
  return cut(journal, log_end);
}

/* files of points that another sweep left would be taken for ours */
static bool has_kept(const struct bw_journal *journal) {
  char kept[BW_FILE_PATH_MAX];
  return bw_path_join(kept, journal->path, BW_KEPT_FOLDER) && access(kept, F_OK) == 0;
}

static enum bw_status start(struct bw_journal *journal, const struct bw_journal_plan *plan,
                            bool may_resume, struct bw_diag *diag) {
  char title[BW_CHECKED_LINE_MAX];
  char line[BW_CHECKED_LINE_MAX];
  (void)snprintf(title, sizeof title, MARK " %016" PRIx64 " %s", plan->inputs, plan->stretch);
  const bool is_there = bw_checked_line_read(journal->log_file, line);
  if (is_there && !may_resume) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "holds an unfinished sweep; go on with --resume or name another --out");
  }
  if (is_there && strcmp(line, title) != 0) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "holds an unfinished sweep of other inputs, options or program version; "
                      "restore those or name another --out");
  }
  if (!is_there && has_kept(journal)) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "holds kept files of an earlier sweep; name another --out");
  }
  errno = 0;
  const bool is_ready =
      is_there ? take_points(journal, plan, title) : start_anew(journal, plan, title);
  return is_ready ? BW_OK : fail_system(journal, "write the sweep", diag);
}

static enum bw_status open_files(struct bw_journal *journal, struct bw_diag *diag) {
  /* killed between the last rename and the end: the whole table is taken back and looked at */
  if (access(journal->log_path, F_OK) == 0 && access(journal->rows, F_OK) != 0) {
    (void)rename(journal->table, journal->rows);
  }
  errno = 0;
  journal->rows_file = open_kept(journal->rows);
  journal->log_file = journal->rows_file != NULL ? open_kept(journal->log_path) : NULL;
  if (journal->log_file == NULL) {
    return fail_system(journal, "open the files of the sweep", diag);
  }
  struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
  if (fcntl(fileno(journal->log_file), F_SETLK, &lock) != 0) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "another sweep is writing here; wait for it or name another --out");
  }
  return BW_OK;
}

/* a file of the table `name` */
static bool join_named(char out[BW_FILE_PATH_MAX], const char *folder, const char *name,
                       const char *ending) {
  char file[NAME_SIZE];
  const int length = snprintf(file, sizeof file, "%s%s", name != NULL ? name : "sweep", ending);
  return length > 0 && length < NAME_SIZE && bw_path_join(out, folder, file);
}

enum bw_status bw_journal_open(const char *path, const struct bw_journal_plan *plan,
                               bool may_resume, struct bw_journal **out, struct bw_diag *diag) {
  *out = NULL;
  struct bw_journal *journal = bw_alloc(1, sizeof *journal);
  if (journal == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the journal");
  }
  enum bw_status status = BW_OK;
  const int length = snprintf(journal->path, BW_FILE_PATH_MAX, "%s", path);
  if (length <= 0 || length >= BW_FILE_PATH_MAX ||
      !join_named(journal->rows, path, plan->name, ".csv.partial") ||
      !join_named(journal->table, path, plan->name, ".csv") ||
      !join_named(journal->log_path, path, plan->name, ".journal")) {
    status = bw_fail(diag, BW_E_USAGE, "--out is empty or too long; name a folder");
  }
  if (status == BW_OK) {
    status = check_folder(journal, diag);
  }
  if (status == BW_OK) {
    status = open_files(journal, diag);
  }
  if (status == BW_OK) {
    status = start(journal, plan, may_resume, diag);
  }
  if (status != BW_OK) {
    bw_journal_leave(journal);
    return status;
  }
  *out = journal;
  return BW_OK;
}

struct bw_journal_state bw_journal_state(const struct bw_journal *journal) {
  return journal->state;
}

const char *bw_journal_rows_path(const struct bw_journal *journal) {
  return journal->rows;
}

enum bw_status bw_journal_add(struct bw_journal *journal, const void *rows, size_t size,
                              struct bw_journal_state one, struct bw_diag *diag) {
  char line[BW_CHECKED_LINE_MAX];
  errno = 0;
  if (fwrite(rows, 1, size, journal->rows_file) != size || fflush(journal->rows_file) != 0) {
    return fail_system(journal, "write the rows", diag);
  }
  (void)snprintf(line, sizeof line, "%zu %" PRIu64 " %016" PRIx64 " %zu %zu", journal->state.points,
                 journal->end + size, bw_checksum(BW_CHECKSUM_START, rows, size), one.failed,
                 one.missed);
  if (!bw_checked_line_write(journal->log_file, line)) {
    return fail_system(journal, "write the journal", diag);
  }
  journal->end += size;
  journal->state.points++;
  journal->state.failed += one.failed;
  journal->state.missed += one.missed;
  return BW_OK;
}

enum bw_status bw_journal_finish(struct bw_journal *journal, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  errno = 0;
  if (fsync(fileno(journal->rows_file)) != 0 || rename(journal->rows, journal->table) != 0 ||
      unlink(journal->log_path) != 0) {
    status = fail_system(journal, "put the table in place", diag);
  }
  bw_journal_leave(journal);
  return status;
}

void bw_journal_leave(struct bw_journal *journal) {
  if (journal == NULL) {
    return;
  }
  if (journal->rows_file != NULL) {
    (void)fclose(journal->rows_file);
  }
  if (journal->log_file != NULL) {
    (void)fclose(journal->log_file);
  }
  bw_free(journal);
}
