/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_STRATEGY_TABLE_H
#define BW_STRATEGY_TABLE_H

#include "input/case.h"
#include "input/param_values.h"

/** Tables that a case gives to strategies: values over a full grid of one to three axes, given in
 *  any order of rows. They reach the strategy as struct bw_blend_table, in edge units. */

enum { BW_STRATEGY_AXIS_MAX = 64 };

/** Check `rows`, whose last column is the value: finite, inside the range of what the column's name
 *  says (shares 0..1, percent 0..100, speeds and decelerations not negative), no point twice, no
 *  hole. BW_E_INPUT or BW_E_RANGE with file and line of each fault. */
BW_MUST_CHECK enum bw_status bw_strategy_table_check(const struct bw_table_rows *rows,
                                                     const struct bw_table_check *check,
                                                     struct bw_diag *diag);

/** Hand the tables among `values`, already checked, to the case. Their names stay with `values`;
 *  free with bw_strategy_tables_free(). BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_strategy_tables_keep(const struct bw_param_values *values,
                                                     struct bw_case *target, struct bw_diag *diag);

/** Free what bw_strategy_tables_keep() made; fine on a zeroed case. */
void bw_strategy_tables_free(struct bw_case *target);

#endif
