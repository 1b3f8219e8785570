/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_JOURNAL_H
#define BW_JOURNAL_H

#include "output/checked_line.h"
#include "status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** Rows on their way into DIR/sweep.csv, safe against being killed.
 *
 *  Rows go into sweep.csv.partial; behind each point's rows DIR/sweep.journal gets a line with
 *  where they end and checksums of them and of the line itself. Going on believes nothing that
 *  does not match its checksum: what is torn or missing is cut off and done again. The finished
 *  table takes its name by one rename; DIR/sweep.done then tells what it is the table of. */
struct bw_journal;

/** What is kept of earlier points, or was added since. */
struct bw_journal_state {
  size_t points;
  size_t failed; /**< runs */
  size_t missed; /**< runs that missed an acceptance limit */
};

/** How a sweep is recognised, and how its table starts. */
struct bw_journal_plan {
  const char *name;    /**< of the table without .csv; NULL: sweep */
  uint64_t inputs;     /**< checksum of everything the rows follow from */
  const char *stretch; /**< which part of the sweep this is and what is kept, one line */
  const char *header;  /**< first line of the table, with its end */
  /** Asked when going on: are the files there that belong to the journal's point `index` (from 0),
   *  `one`? NULL: there are none. */
  bool (*is_kept)(void *context, size_t index, const struct bw_journal_state *one);
  void *context;
};

/** How journals of these inputs and this stretch begin. */
void bw_journal_title(uint64_t inputs, const char *stretch, char title[BW_CHECKED_LINE_MAX]);

/** Open the folder `path`, made if need be. With `may_resume`, rows that are already there are
 *  kept; without it an unfinished sweep there is refused and a finished one replaced. `plan->name`
 *  and `plan->context` must outlive the journal. BW_E_USAGE: a folder with other files, an
 *  unfinished sweep of other inputs, with `may_resume` a finished one too; BW_E_IO; BW_E_MEMORY.
 *  On error *out is NULL. */
BW_MUST_CHECK enum bw_status bw_journal_open(const char *path, const struct bw_journal_plan *plan,
                                             bool may_resume, struct bw_journal **out,
                                             struct bw_diag *diag);

/** What is there so far. */
struct bw_journal_state bw_journal_state(const struct bw_journal *journal);

/** True when --resume found the whole table: nothing is to be added. */
bool bw_journal_is_done(const struct bw_journal *journal);

/** The file that the rows are in: not the table's own until all are there. */
const char *bw_journal_rows_path(const struct bw_journal *journal);

/** The rows of the next point. `one` holds 1 point and its runs. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_journal_add(struct bw_journal *journal, const void *rows,
                                            size_t size, struct bw_journal_state one,
                                            struct bw_diag *diag);

/** All is there: put sweep.csv in place and free the journal, on error too. */
BW_MUST_CHECK enum bw_status bw_journal_finish(struct bw_journal *journal, struct bw_diag *diag);

/** Free it and leave the files for going on later; NULL is fine. */
void bw_journal_leave(struct bw_journal *journal);

#endif
