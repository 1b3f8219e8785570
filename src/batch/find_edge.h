/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FIND_EDGE_H
#define BW_FIND_EDGE_H

#include "assess/summary.h"
#include "status.h"

#include <stdbool.h>

/** The first point along an axis at which a condition on a result holds: the axis is scanned at
 *  given values from the first to the last, all of them, then the stretch before the first value at
 *  which the condition holds is halved until it is short enough. What happens between two values of
 *  the scan is not seen; a scan that goes in and out of the condition says so. */

enum bw_relation {
  BW_RELATION_ABOVE,
  BW_RELATION_AT_LEAST,
  BW_RELATION_BELOW,
  BW_RELATION_AT_MOST,
  BW_RELATION_EQUAL,
  BW_RELATION_OTHER
};

/** COLUMN OP NUMBER with a column of summary.csv; OP is > >= < <= == or !=. Or 'verdict' == or !=
 *  one of the verdicts' words. */
struct bw_condition {
  bool is_of_verdict; /**< `verdict` counts, not `column` and `number` */
  enum bw_summary_column column;
  enum bw_relation relation;
  double number;
  enum bw_verdict verdict;
};

/** Read `text`, blanks allowed around each part. BW_E_USAGE with the nearest column, for an unknown
 *  operator, for no number, for no verdict. */
BW_MUST_CHECK enum bw_status bw_condition_read(const char *text, struct bw_condition *out,
                                               struct bw_diag *diag);

/** What one run says. */
enum bw_probe {
  BW_PROBE_CLEAR,  /**< the condition does not hold */
  BW_PROBE_HOLDS,  /**< it holds */
  BW_PROBE_UNKNOWN /**< the run failed, or the column does not apply */
};

/** Of a number; NaN is BW_PROBE_UNKNOWN. */
enum bw_probe bw_condition_probe(const struct bw_condition *condition, double value);

/** Of the column, or the verdict, in a summary that was judged. */
enum bw_probe bw_condition_probe_summary(const struct bw_condition *condition,
                                         const struct bw_summary *summary);

struct bw_edge_search {
  const double *value; /**< (count) of the scan, in one direction */
  size_t count;        /**< >= 2 */
  double within;       /**< > 0, length of the last stretch, in the unit of the values */
  void *context;
  /** Run at `value`. Any status but BW_OK ends the search. */
  enum bw_status (*probe)(void *context, double value, enum bw_probe *out);
};

enum bw_edge_end {
  BW_EDGE_NONE,     /**< nowhere in the scan */
  BW_EDGE_AT_START, /**< at the first value already */
  BW_EDGE_FOUND,
  BW_EDGE_UNKNOWN /**< no run of the scan says anything */
};

struct bw_edge {
  enum bw_edge_end end;
  double first;     /**< least advanced value at which it was seen to hold; NaN without one */
  double clear;     /**< last value before it at which it was seen not to hold; NaN without one */
  bool is_narrow;   /**< first and clear are no farther apart than `within` */
  size_t probes;    /**< runs */
  size_t unknown;   /**< of these, runs that say nothing */
  size_t crossings; /**< changes between clear and holding seen in the scan; 0 or 1: one edge */
};

/** Search. Statuses of `probe`; *out is then what was known so far. */
BW_MUST_CHECK enum bw_status bw_find_edge(const struct bw_edge_search *search, struct bw_edge *out);

#endif
