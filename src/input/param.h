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
  const char *key;     /**< dotted, with unit suffix, e.g. battery.soc_percent */
  enum bw_param_kind kind;
  const char *unit;    /**< edge unit as printed, "" for none */
  double min;          /**< edge unit; numbers only */
  double max;
  double fallback;     /**< number: edge unit; bool: 0 or 1; choice: index */
  const char *choices; /**< choice words joined by '|'; text fallback; table columns 'x_unit,y_unit' */
  bool is_required;
  const char *help;    /**< one line */
};

/** Number of rows, strategy parameters included. */
size_t bw_param_count(void);

/** Row `index`; the pointer stays valid for the life of the program. */
const struct bw_param *bw_param_at(size_t index);

/** Row of `key`, NULL if unknown. */
const struct bw_param *bw_param_find(const char *key);

/** Known key nearest to `key` by edit distance, NULL if nothing is near. */
const char *bw_param_nearest(const char *key);

/** Write the resolved parameters of a case as a case file that, loaded again, gives the same
 *  run: every key, numbers with 17 significant digits, tables inline. False on a write error. */
bool bw_param_write_resolved(const struct bw_case *loaded, FILE *stream);

/** Print 'key = value unit   help' lines for people. False on a write error. */
bool bw_param_print_resolved(const struct bw_case *loaded, FILE *stream);

#endif
