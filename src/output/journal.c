/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/journal.h"

#include "alloc.h"
#include "output/done_card.h"
#include "output/kept.h"
#include "output/path.h"
#include "output/sweep_folder.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { BLOCK_SIZE = 4096 };

#define MARK "brakeweave-sweep-1"

struct bw_journal {
  char path[BW_FILE_PATH_MAX];     /* folder */
  char rows[BW_FILE_PATH_MAX];     /* sweep.csv.partial */
  char table[BW_FILE_PATH_MAX];    /* sweep.csv */
  char log_path[BW_FILE_PATH_MAX]; /* sweep.journal */
  FILE *rows_file;
  FILE *log_file;
  bool is_done; /* the table was finished earlier, no file is open */
  const char *name;
  char title[BW_CHECKED_LINE_MAX];
  bool (*is_kept)(void *context, size_t index, const struct bw_journal_state *one);
  void *context; /* of is_kept */
  uint64_t end;  /* bytes of sound rows */
  struct bw_journal_state state;
};

static enum bw_status fail_system(const struct bw_journal *journal, const char *what,
                                  struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  return bw_fail_at(diag, BW_E_IO, journal->path, 0,
                    "cannot %s (%s); mend that and go on with --resume", what,
                    bw_reason(errno, text));
}

/* an ordinary file: a pipe would wait for ever, and a device forget */
static FILE *open_kept(const char *path) {
  struct stat info;
  const int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NONBLOCK, 0666);
  if (file < 0) {
    return NULL;
  }
  if (fstat(file, &info) != 0 || !S_ISREG(info.st_mode)) {
    (void)close(file);
    errno = EINVAL;
    return NULL;
  }
  return fdopen(file, "r+b");
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
static bool take_point(struct bw_journal *journal) {
  char line[BW_CHECKED_LINE_MAX];
  size_t point = 0;
  uint64_t end = 0;
  uint64_t wanted = 0;
  uint64_t sum = 0;
  struct bw_journal_state one = {0};
  if (!bw_checked_line_read(journal->log_file, line) ||
      /* NOLINTNEXTLINE(cert-err34-c): the line has its checksum, its numbers are those we wrote */
      sscanf(line, "%zu %" SCNu64 " %" SCNx64 " %zu %zu", &point, &end, &wanted, &one.failed,
             &one.missed) != 5) {
    return false;
  }
  if (point != journal->state.points || end < journal->end ||
      !sum_rows(journal->rows_file, end - journal->end, &sum) || sum != wanted) {
    return false;
  }
  if (journal->is_kept != NULL && !journal->is_kept(journal->context, point, &one)) {
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

static bool start_anew(struct bw_journal *journal, const struct bw_journal_plan *plan) {
  journal->end = 0;
  journal->state = (struct bw_journal_state){0};
  char part[BW_FILE_PATH_MAX]; /* of an earlier sweep */
  if (bw_path_of_table(part, journal->path, journal->name, ".part")) {
    (void)unlink(part);
  }
  bw_done_forget(journal->path, journal->name);
  if (!cut(journal, 0) || !bw_checked_line_write(journal->log_file, journal->title) ||
      fputs(plan->header, journal->rows_file) == EOF || fflush(journal->rows_file) != 0) {
    return false;
  }
  journal->end = strlen(plan->header);
  return true;
}

static bool take_points(struct bw_journal *journal, const struct bw_journal_plan *plan) {
  uint64_t sum = 0;
  const size_t length = strlen(plan->header);
  if (!sum_rows(journal->rows_file, length, &sum) ||
      sum != bw_checksum(BW_CHECKSUM_START, plan->header, length)) {
    return start_anew(journal, plan);
  }
  journal->end = length;
  long log_end = ftell(journal->log_file);
  while (take_point(journal)) {
    log_end = ftell(journal->log_file);
  }
  return cut(journal, log_end);
}

/* files of points that another sweep left would be taken for ours */
static bool has_kept(const struct bw_journal *journal) {
  char kept[BW_FILE_PATH_MAX];
  return bw_path_join(kept, journal->path, BW_KEPT_FOLDER) && access(kept, F_OK) == 0;
}

static enum bw_status fail_kept(const struct bw_journal *journal, struct bw_diag *diag) {
  return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                    "holds kept files of an earlier sweep; name another --out");
}

static enum bw_status start(struct bw_journal *journal, const struct bw_journal_plan *plan,
                            bool may_resume, struct bw_diag *diag) {
  char line[BW_CHECKED_LINE_MAX];
  const bool is_there = bw_checked_line_read(journal->log_file, line);
  if (is_there && !may_resume) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "holds an unfinished sweep; go on with --resume or name another --out");
  }
  if (is_there && strcmp(line, journal->title) != 0) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "holds an unfinished sweep of other inputs, options or program version; "
                      "restore those or name another --out");
  }
  if (!is_there && has_kept(journal)) {
    return fail_kept(journal, diag);
  }
  errno = 0;
  const bool is_ready = is_there ? take_points(journal, plan) : start_anew(journal, plan);
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
  /* some shared file systems know no locks: there it is up to the user */
  if (fcntl(fileno(journal->log_file), F_SETLK, &lock) != 0 &&
      (errno == EACCES || errno == EAGAIN)) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "another sweep is writing here; wait for it or name another --out");
  }
  return BW_OK;
}

void bw_journal_title(uint64_t inputs, const char *stretch, char title[BW_CHECKED_LINE_MAX]) {
  (void)snprintf(title, BW_CHECKED_LINE_MAX, MARK " %016" PRIx64 " %s", inputs, stretch);
}

static bool name_files(struct bw_journal *journal, const char *path,
                       const struct bw_journal_plan *plan) {
  const int length = snprintf(journal->path, BW_FILE_PATH_MAX, "%s", path);
  journal->name = plan->name != NULL ? plan->name : "sweep";
  journal->is_kept = plan->is_kept;
  journal->context = plan->context;
  bw_journal_title(plan->inputs, plan->stretch, journal->title);
  return length > 0 && length < BW_FILE_PATH_MAX &&
         bw_path_of_table(journal->rows, path, journal->name, ".csv.partial") &&
         bw_path_of_table(journal->table, path, journal->name, ".csv") &&
         bw_path_of_table(journal->log_path, path, journal->name, ".journal");
}

/* points whose files are there */
static size_t count_kept(const struct bw_journal *journal) {
  const struct bw_journal_state sound = {.points = 1};
  size_t count = 0;
  for (size_t i = 0; journal->is_kept != NULL && i < journal->state.points; i++) {
    count += journal->is_kept(journal->context, i, &sound) ? 1 : 0;
  }
  return count;
}

/* a sweep that was finished before there is nothing to do for; one of other inputs is not lost
 * because its folder is named by mistake */
static enum bw_status look_for_done(struct bw_journal *journal, struct bw_diag *diag) {
  struct bw_done_card card = {.title = journal->title};
  const enum bw_done done = bw_done_read(journal->path, journal->name, &card);
  if (done == BW_DONE_OTHER) {
    return bw_fail_at(diag, BW_E_USAGE, journal->path, 0,
                      "holds a finished sweep of other inputs, options or program version; name "
                      "another --out, or replace it without --resume");
  }
  if (done == BW_DONE_SAME) {
    journal->state = card.state;
    journal->is_done = count_kept(journal) == card.kept;
    journal->state = journal->is_done ? card.state : (struct bw_journal_state){0};
  }
  return BW_OK;
}

/* what is told before any file is made */
static enum bw_status look(struct bw_journal *journal, bool may_resume, struct bw_diag *diag) {
  if (access(journal->log_path, F_OK) == 0) {
    return BW_OK;
  }
  if (may_resume) {
    BW_TRY(look_for_done(journal, diag));
  }
  return !journal->is_done && has_kept(journal) ? fail_kept(journal, diag) : BW_OK;
}

enum bw_status bw_journal_open(const char *path, const struct bw_journal_plan *plan,
                               bool may_resume, struct bw_journal **out, struct bw_diag *diag) {
  *out = NULL;
  struct bw_journal *journal = bw_alloc(1, sizeof *journal);
  if (journal == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the journal");
  }
  enum bw_status status =
      name_files(journal, path, plan)
          ? bw_sweep_folder_claim(path, diag)
          : bw_fail(diag, BW_E_USAGE, "--out is empty or too long; name a folder");
  if (status == BW_OK) {
    status = look(journal, may_resume, diag);
  }
  if (status == BW_OK && !journal->is_done) {
    status = open_files(journal, diag);
  }
  if (status == BW_OK && !journal->is_done) {
    status = start(journal, plan, may_resume, diag);
  }
  if (status != BW_OK) {
    bw_journal_leave(journal);
    return status;
  }
  *out = journal;
  return BW_OK;
}

bool bw_journal_is_done(const struct bw_journal *journal) {
  return journal->is_done;
}

struct bw_journal_state bw_journal_state(const struct bw_journal *journal) {
  return journal->state;
}

const char *bw_journal_rows_path(const struct bw_journal *journal) {
  return journal->is_done ? journal->table : journal->rows;
}

enum bw_status bw_journal_add(struct bw_journal *journal, const void *rows, size_t size,
                              struct bw_journal_state one, struct bw_diag *diag) {
  char line[BW_CHECKED_LINE_MAX];
  BW_ASSERT(!journal->is_done);
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

/* in this order, so that a journal is there for as long as anything else is missing */
static bool put_in_place(const struct bw_journal *journal) {
  const struct bw_done_card card = {journal->title, journal->state, count_kept(journal)};
  errno = 0;
  return fsync(fileno(journal->rows_file)) == 0 &&
         bw_done_write(journal->path, journal->name, journal->rows, &card) &&
         rename(journal->rows, journal->table) == 0 && unlink(journal->log_path) == 0;
}

enum bw_status bw_journal_finish(struct bw_journal *journal, struct bw_diag *diag) {
  const enum bw_status status = journal->is_done || put_in_place(journal)
                                    ? BW_OK
                                    : fail_system(journal, "put the table in place", diag);
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
