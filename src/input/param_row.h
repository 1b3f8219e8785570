/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PARAM_ROW_H
#define BW_PARAM_ROW_H

#include "input/param.h"

/** The parameter table from inside: each public row with its field in struct bw_case. */

enum bw_param_store {
  BW_STORE_NONE,    /**< kept as a value, used by the code that resolves the case */
  BW_STORE_DOUBLE,  /**< converted to SI */
  BW_STORE_BOOL,    /**< bool, or a choice whose second word means true */
  BW_STORE_ENUM,    /**< index of the choice */
  BW_STORE_TEXT,    /**< char array of `size` bytes */
  BW_STORE_TABLE1,  /**< struct bw_table1 */
  BW_STORE_TABLE2,  /**< struct bw_table2 */
  BW_STORE_SURFACE, /**< struct bw_surface */
  BW_STORE_CHARGE   /**< the two charge limits of struct bw_battery */
};

/* NOLINTNEXTLINE(clang-analyzer-optin.performance.Padding): rows are written in this order */
struct bw_param_row {
  struct bw_param param;
  enum bw_param_store store;
  size_t offset;         /**< of the field in struct bw_case */
  size_t size;           /**< bytes of a text field */
  const char *needs_key; /**< required only while this bool or choice ... */
  int needs_index;       /**< ... has this index; NULL: always */
};

/** The rows of one file. */
struct bw_param_rows {
  const struct bw_param_row *row;
  size_t count;
};

struct bw_param_rows bw_params_vehicle(void);
struct bw_param_rows bw_params_machine(void);
struct bw_param_rows bw_params_battery(void);
struct bw_param_rows bw_params_friction(void);
struct bw_param_rows bw_params_hydraulics(void);
struct bw_param_rows bw_params_rotor(void);
struct bw_param_rows bw_params_run(void);
struct bw_param_rows bw_params_slip(void);
struct bw_param_rows bw_params_fault(void);
struct bw_param_rows bw_params_sensor(void);
struct bw_param_rows bw_params_park(void);

/** Row behind a public row of `table`. */
const struct bw_param_row *bw_param_row_at(const struct bw_param_table *table, size_t index);

/** Index of `key`, or the count of rows. */
size_t bw_param_index(const struct bw_param_table *table, const char *key);

/** True if `prefix` is a group of keys, such as machine.front. */
bool bw_param_is_group(const struct bw_param_table *table, const char *prefix);

/** Group nearest to `prefix` by edit distance, NULL if nothing is near. */
const char *bw_param_nearest_group(const struct bw_param_table *table, const char *prefix);

/* makers of rows; a key's unit text must be the one of its suffix (tests/test_params.c) */
#define BW_NUMBER(KEY, UNIT, OFFSET, MIN, MAX, FALLBACK, HELP)                                     \
  {                                                                                                \
    {KEY, BW_PARAM_NUMBER, UNIT, MIN, MAX, FALLBACK, "", false, HELP}, BW_STORE_DOUBLE, OFFSET, 0, \
        NULL, 0                                                                                    \
  }
#define BW_NEEDED(KEY, UNIT, OFFSET, MIN, MAX, HELP)                                               \
  BW_NEEDED_IF(KEY, UNIT, OFFSET, MIN, MAX, HELP, NULL, 0)
#define BW_NEEDED_IF(KEY, UNIT, OFFSET, MIN, MAX, HELP, NEEDS, INDEX)                              \
  {                                                                                                \
    {KEY, BW_PARAM_NUMBER, UNIT, MIN, MAX, MIN, "", true, HELP}, BW_STORE_DOUBLE, OFFSET, 0,       \
        NEEDS, INDEX                                                                               \
  }
#define BW_NUMBER_ASIDE(KEY, UNIT, MIN, MAX, FALLBACK, HELP)                                       \
  {                                                                                                \
    {KEY, BW_PARAM_NUMBER, UNIT, MIN, MAX, FALLBACK, "", false, HELP}, BW_STORE_NONE, 0, 0, NULL,  \
        0                                                                                          \
  }
#define BW_NEEDED_ASIDE(KEY, UNIT, MIN, MAX, HELP, NEEDS, INDEX)                                   \
  { {KEY, BW_PARAM_NUMBER, UNIT, MIN, MAX, MIN, "", true, HELP}, BW_STORE_NONE, 0, 0, NEEDS, INDEX }
#define BW_FLAG(KEY, OFFSET, FALLBACK, HELP)                                                       \
  { {KEY, BW_PARAM_BOOL, "", 0, 1, FALLBACK, "", false, HELP}, BW_STORE_BOOL, OFFSET, 0, NULL, 0 }
#define BW_CHOICE(KEY, CHOICES, STORE, OFFSET, LAST, FALLBACK, HELP)                               \
  { {KEY, BW_PARAM_CHOICE, "", 0, LAST, FALLBACK, CHOICES, false, HELP}, STORE, OFFSET, 0, NULL, 0 }
#define BW_TEXT(KEY, STORE, OFFSET, SIZE, FALLBACK, REQUIRED, HELP)                                \
  { {KEY, BW_PARAM_TEXT, "", 0, 0, 0, FALLBACK, REQUIRED, HELP}, STORE, OFFSET, SIZE, NULL, 0 }
#define BW_TABLE(KEY, STORE, OFFSET, COLUMNS, REQUIRED, HELP)                                      \
  { {KEY, BW_PARAM_TABLE, "", 0, 0, 0, COLUMNS, REQUIRED, HELP}, STORE, OFFSET, 0, NULL, 0 }
#define BW_ROWS(ARRAY) ((struct bw_param_rows){(ARRAY), sizeof(ARRAY) / sizeof((ARRAY)[0])})

#endif
