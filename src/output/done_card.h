/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DONE_CARD_H
#define BW_DONE_CARD_H

#include "output/journal.h"

/** What the folder of a finished sweep remembers of it: DIR/TABLE.done, one line with a checksum.
 *  So going on with a sweep that is done costs nothing, and one of other inputs is not taken for
 *  it. */
struct bw_done_card {
  const char *title; /**< of the journal that the table came from, bw_journal_title(); borrowed */
  struct bw_journal_state state;
  size_t kept; /**< points that have a folder of files */
};

/** Write DIR/TABLE.done for the table whose rows are at `rows_path`. `table` is its name
 *  without .csv. False when that cannot be, errno says why. */
bool bw_done_write(const char *folder, const char *table, const char *rows_path,
                   const struct bw_done_card *card);

enum bw_done {
  BW_DONE_NOT,   /**< nothing that can be believed: no card, or another table than it says */
  BW_DONE_OTHER, /**< a finished table of another title */
  BW_DONE_SAME
};

/** Compare what DIR holds with card->title; fills the rest of *card for BW_DONE_SAME. */
enum bw_done bw_done_read(const char *folder, const char *table, struct bw_done_card *card);

/** Take the card away, because its table is about to be replaced. */
void bw_done_forget(const char *folder, const char *table);

#endif
