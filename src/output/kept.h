/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_KEPT_H
#define BW_KEPT_H

#include "output/result.h"
#include "sim/run.h"

/** Files kept of each point of a sweep: DIR/runs/00000012 is the results folder of the twelfth
 *  point, as `brakeweave run --out` makes one. */

#define BW_KEPT_FOLDER "runs"

enum bw_keep {
  BW_KEEP_SUMMARY, /**< the rows of sweep.csv only */
  BW_KEEP_EVENTS,  /**< a folder per point */
  BW_KEEP_TRACES   /**< with the runs over time in it */
};

/** 'summary', 'events' or 'traces'. */
const char *bw_keep_name(enum bw_keep keep);

/** The other way round; BW_E_USAGE with the words for anything else. */
BW_MUST_CHECK enum bw_status bw_keep_parse(const char *word, enum bw_keep *out,
                                           struct bw_diag *diag);

/** Make DIR/runs where it is not there, and clear away folders that a killed worker left half
 *  written. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_kept_prepare(const char *dir, struct bw_diag *diag);

/** True when the folder of `point` (from 0) is there as a whole. */
bool bw_kept_is_there(const char *dir, size_t point);

/** A results folder of `point` on its way, see folder.h; one that is there is replaced. */
struct bw_folder;
BW_MUST_CHECK enum bw_status bw_kept_open(const char *dir, size_t point, struct bw_folder **out,
                                          struct bw_diag *diag);

/** Bytes that `points` points of `runs` runs each take, estimated: so many per row of a trace, a
 *  row per trace period, and so many per run for the other tables (kept.c). */
double bw_kept_estimate(const struct bw_case *loaded, enum bw_keep keep, double points,
                        double runs);

/** Bytes free for us where `dir` lies; negative when that cannot be told. */
double bw_kept_free(const char *dir);

/** Put the folders of points `first` .. `end` - 1 of `from` into `to`, by hard links where that is
 *  possible, else by copying. BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_kept_gather(const char *from, const char *to, size_t first,
                                            size_t end, struct bw_diag *diag);

/** Remove DIR/runs and what is in it, as far as that is possible. */
void bw_kept_discard(const char *dir);

#endif
