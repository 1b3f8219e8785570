/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_COMPARISON_H
#define BW_COMPARISON_H

#include "output/result.h"

#include <stdbool.h>
#include <stdio.h>

/** The comparison of strategies as a page for people: blocks of aligned figures with units, the
 *  best recovery first, every figure explained, and what the model cannot tell. */

/** One figure of a block: three header lines, scale, summary column and precision. */
struct bw_block_figure {
  const char *top;
  const char *bottom;
  const char *unit;
  double scale;
  enum bw_summary_column column;
  int decimals; /**< digits behind the point; -1: two digits and a power of ten */
};

/** A block of figures; it is left out when none of them applies to any strategy. */
struct bw_block {
  const char *title;
  const char *note; /**< what the figures mean, which denominator they have */
  const struct bw_block_figure *figures;
  size_t count;
};

/** The blocks below the verdicts, in the order of the page. */
size_t bw_block_count(void);
const struct bw_block *bw_block_at(size_t index); /**< NULL beyond */

/** Print the page of the program's `version`. BW_E_MEMORY or BW_E_IO on failure. */
BW_MUST_CHECK enum bw_status bw_comparison_print(const struct bw_results *results,
                                                 const char *version, FILE *stream);

#endif
