/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_EXPLAIN_H
#define BW_EXPLAIN_H

#include "assess/moment.h"

#include <stdio.h>

/** One moment of a run as a page: what the strategy saw, what the limits were, what was asked for,
 *  commanded and delivered, what was clipped, how the axles and the driver fared, where the power
 *  went. Each line is a figure with its unit and a sentence. */

/** What to explain. Borrows everything. */
struct bw_explanation {
  const struct bw_case *loaded;
  const char *strategy;
  const struct bw_moment *moment; /**< found */
};

/** One line: a figure or a word, and a sentence about it. */
struct bw_explain_row {
  const char *section; /**< title; rows of one section follow one another */
  char key[48];        /**< with the unit's suffix */
  double value;        /**< unit of the suffix; NaN: `word` says it, or not applicable */
  char word[24];
  char text[256];
};

enum { BW_EXPLAIN_ROWS = 96 };

struct bw_explain_page {
  size_t count;
  struct bw_explain_row row[BW_EXPLAIN_ROWS]; /**< (count) */
};

/** Fill the page. */
void bw_explain_fill(const struct bw_explanation *explanation, struct bw_explain_page *page);

/** Print for people in lines of at most 100 columns, or as one JSON object. BW_E_MEMORY or
 *  BW_E_IO. */
BW_MUST_CHECK enum bw_status bw_explain_print(const struct bw_explanation *explanation,
                                              const char *version, FILE *stream);
BW_MUST_CHECK enum bw_status bw_explain_json(const struct bw_explanation *explanation,
                                             FILE *stream);

#endif
