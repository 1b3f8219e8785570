/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PARAM_VALUES_H
#define BW_PARAM_VALUES_H

#include "input/param_row.h"
#include "input/table_read.h"

/** What was typed for each parameter, in edge units, and where. */
struct bw_param_value {
  bool is_given; /**< by a file or on the command line */
  bool is_set;   /**< given, or the row has a fallback */
  int depth;     /**< includes between the case file (0) and the file it stands in; -1: --set */
  char *file;    /**< owned; place it stands at, NULL while not given */
  int line;
  double number; /**< number; 0 or 1 of a bool; index of a choice */
  char *text;    /**< owned; NULL: the row's fallback */
  struct bw_table_rows rows;
};

struct bw_param_values {
  struct bw_param_table *table; /**< owned, unless it is a loan */
  bool is_table_loan;
  struct bw_param_value *value; /**< (rows of table) owned */
};

/** Values with every fallback set, those of `extra` strategies (NULL: none) too; NULL without
 *  memory. Free with bw_param_values_destroy(). */
struct bw_param_values *bw_param_values_create(const struct bw_extra_strategies *extra);

/** A copy that has `values`' table on loan; NULL without memory. */
struct bw_param_values *bw_param_values_copy(const struct bw_param_values *values);
void bw_param_values_destroy(struct bw_param_values *values);

/** Value of `key`, which must exist. */
struct bw_param_value *bw_param_value(const struct bw_param_values *values, const char *key);

/** Number (edge unit), bool or choice index of `key`, which must exist. */
double bw_param_number(const struct bw_param_values *values, const char *key);
int bw_param_index_of(const struct bw_param_values *values, const char *key);

/** Owned copy of `text`, NULL without memory. */
char *bw_text_copy(const char *text);

/** Free *text and put `copy` (owned) in its place. */
void bw_text_replace(char **text, char *copy);

/** Word `index` of words joined by '|' into `word`; false beyond the last. */
bool bw_word_at(const char *words, size_t index, char *word, size_t size);

#endif
