/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ASSESS_DIGEST_H
#define BW_ASSESS_DIGEST_H

#include "batch/assess.h"

/** What a person with little time wants to know of an assessment's rows: how many were kept and
 *  missed, and which one is worst. Pointers into the assessment, which must outlive them. */

/** Rows that belong together, by outcome. */
struct bw_assess_tally {
  size_t kept;
  size_t missed;
  size_t information;
  size_t unassessed;
  const struct bw_assess_row *worst;    /**< judged row with the least room, NULL: none */
  const struct bw_assess_row *told;     /**< unjudged row with the least room, NULL: none */
  const struct bw_assess_row *least;    /**< least result of rows without a limit, NULL: none */
  const struct bw_assess_row *greatest; /**< its opposite */
  const struct bw_assess_row *open;     /**< first row that was not assessed, NULL: none */
};

/** Add a row; the first of equals stays. */
void bw_assess_tally_add(struct bw_assess_tally *tally, const struct bw_assess_row *row);

/** Margin over the size of the limit, 1; comparable between units. 0 for a margin of 0, infinite
 *  where a limit of 0 is missed or kept with room, NaN without a margin. */
double bw_assess_room(const struct bw_assess_row *row);

/** All rows of one requirement in one family's part of the page. */
struct bw_assess_entry {
  const char *title; /**< of the part */
  const struct bw_requirement *requirement;
  struct bw_assess_tally tally;
};

/** Entries in the order of the page: by part in the order of the families, within a part as the
 *  rows come. *count: how many. NULL without memory, else the caller frees with bw_free(). */
struct bw_assess_entry *bw_assess_entries(const struct bw_assessment *assessment, size_t *count);

/** A judged row that is the worst of its requirement, and how many strategies share its outcome. */
struct bw_assess_near {
  const struct bw_assess_row *row;
  size_t strategies; /**< with a row of this requirement and outcome; the car counts as one */
};

/** The worst row of each requirement among those missed (`is_missed`) or kept, least room first.
 *  *count: how many. NULL without memory, else the caller frees with bw_free(). */
struct bw_assess_near *bw_assess_nearest(const struct bw_assessment *assessment, bool is_missed,
                                         size_t *count);

#endif
