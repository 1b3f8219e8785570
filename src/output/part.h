/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PART_H
#define BW_PART_H

#include "output/journal.h"

/** Parts of a sweep that were run apart, and the whole table made of them again.
 *
 *  Part K of N holds the points P (K-1)/N to P K/N of P, so the table of the whole is the parts'
 *  rows one after the other. A finished part has DIR/sweep.csv and DIR/sweep.part, one line with a
 *  checksum that says which points of which sweep it holds; of searches it is find.csv and
 *  find.part. */

/** One part, or the whole when `count` is 1. */
struct bw_part {
  size_t number; /**< 1 .. count */
  size_t count;
  size_t points; /**< of the whole sweep */
  size_t first;  /**< first point */
  size_t end;    /**< behind the last one */
};

/** The most parts that a sweep can be cut into. */
enum { BW_PARTS_MAX = 1000000 };

/** Part `number` of `count`, up to BW_PARTS_MAX, of a sweep of `points` points. */
struct bw_part bw_part_make(size_t number, size_t count, size_t points);

/** The stretch of a journal: part and kept files belong to what must not change when going on. */
enum { BW_STRETCH_MAX = 96 };
void bw_part_stretch(const struct bw_part *part, const char *keep, char text[BW_STRETCH_MAX]);

/** What a finished part says about itself. */
struct bw_part_card {
  const char *table; /**< "sweep" or "find", a constant */
  struct bw_part part;
  uint64_t inputs; /**< checksum of what its rows follow from */
  char keep[16];   /**< files kept of each point */
  size_t runs;     /**< per point */
  size_t failed;   /**< runs */
  size_t missed;   /**< runs that missed an acceptance limit */
  uint64_t size;   /**< bytes of its table */
  uint64_t sum;    /**< checksum of its table */
};

/** Write DIR/TABLE.part for the rows at `rows_path`; fills size and sum of `card`. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_part_write(const char *folder, const char *rows_path,
                                           struct bw_part_card *card, struct bw_diag *diag);

/** A part to be joined. */
struct bw_part_source {
  const char *folder; /**< borrowed */
  struct bw_part_card card;
};

/** Read and check the cards of `count` parts and sort them by their points. One message per
 *  fault: BW_E_INPUT for a folder without a finished part, parts of other sweeps, parts that hold
 *  the same points, points that no part holds, a table that is not what its card says. */
BW_MUST_CHECK enum bw_status bw_part_read_all(struct bw_part_source *sources, size_t count,
                                              struct bw_diag *diag);

/** Write the table of the whole to `stream`. BW_E_IO, without a message when it is `stream` that
 *  takes no more; BW_E_INPUT when a table has changed since. */
BW_MUST_CHECK enum bw_status bw_part_join(const struct bw_part_source *sources, size_t count,
                                          FILE *stream, struct bw_diag *diag);

/** Write DIR/TABLE.done of the whole that was made of the parts, as the undisturbed sweep does.
 *  `kept` points have a folder of files. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_part_join_done(const struct bw_part_source *sources, size_t count,
                                               size_t kept, const char *folder,
                                               struct bw_diag *diag);

#endif
