/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PARAM_H
#define BW_PARAM_H

#include "input/case.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/** The parameter table: one row per key. It alone drives loading, range checks, `--set`, the
 *  printed reference and resolved.cfg. Strategy parameters join it under strategy.NAME.KEY. */

enum bw_param_kind {
  BW_PARAM_NUMBER, /**< double, edge unit in the key's suffix */
  BW_PARAM_BOOL,
  BW_PARAM_CHOICE, /**< one word out of `choices` ("a|b|c") */
  BW_PARAM_TEXT,   /**< free text or a path */
  BW_PARAM_TABLE   /**< path of a CSV file or inline list of rows */
};

struct bw_param {
  const char *key; /**< dotted, with unit suffix, e.g. battery.soc_percent */
  enum bw_param_kind kind;
  const char *unit; /**< edge unit as printed, "" for none */
  double min;       /**< edge unit; numbers only */
  double max;
  double fallback;     /**< number: edge unit; bool: 0 or 1; choice: index */
  const char *choices; /**< choice words joined by '|'; table columns 'x_unit,y_unit',
                             alternatives joined by '|'; text: what it is when not given */
  bool is_required; /**< no fallback; some only while a machine is fitted or a choice is taken, as
                          the help says */
  const char *help; /**< one line */
};

/** All rows: those of the case and, behind them, strategy.NAME.PARAM of every registered strategy.
 *  Owns the keys of the latter. Read-only after creation, so threads may share one. */
struct bw_param_table;

/** Strategies that are not built in, such as loaded controllers. Borrowed; each name differs from
 *  every other and from the built-in ones. */
struct bw_extra_strategies {
  size_t count;
  const struct bw_blend_strategy *const *strategy; /**< (count) */
};

/** The table, NULL when there is no memory. Caller frees with bw_param_table_destroy(). */
struct bw_param_table *bw_param_table_create(void);

/** The same with the parameters of `extra` strategies (NULL: none) behind those of the built-in
 *  ones. */
struct bw_param_table *bw_param_table_create_with(const struct bw_extra_strategies *extra);

/** Free the table; NULL is fine. Rows and keys taken from it end with it. */
void bw_param_table_destroy(struct bw_param_table *table);

/** The table a loaded case was read with; lives as long as the case. */
const struct bw_param_table *bw_case_params(const struct bw_case *loaded);

/** Strategy called `name` among the built-in ones and those the table was created with; NULL if
 *  there is none. */
const struct bw_blend_strategy *bw_param_strategy(const struct bw_param_table *table,
                                                  const char *name);

/** Number of rows, strategy parameters included. */
size_t bw_param_count(const struct bw_param_table *table);

/** Row `index` (0 .. count - 1), NULL beyond; valid as long as the table. */
const struct bw_param *bw_param_at(const struct bw_param_table *table, size_t index);

/** Row of `key`, NULL if unknown. */
const struct bw_param *bw_param_find(const struct bw_param_table *table, const char *key);

/** Known key nearest to `key` by edit distance, NULL if nothing is near. */
const char *bw_param_nearest(const struct bw_param_table *table, const char *key);

/** The number (edge unit) that a loaded case has for the number key `key`; false when there is no
 *  such key or the case gives it no value. */
bool bw_case_number(const struct bw_case *loaded, const char *key, double *number);

/** Write the resolved parameters of a case as a case file that, loaded again, gives the same
 *  run: every key, numbers with 17 significant digits, tables inline. False on a write error. */
bool bw_param_write_resolved(const struct bw_case *loaded, FILE *stream);

/** Print 'key = value unit   help' lines for people. False on a write error. */
bool bw_param_print_resolved(const struct bw_case *loaded, FILE *stream);

#endif
