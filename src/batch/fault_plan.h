/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_PLAN_H
#define BW_FAULT_PLAN_H

#include "batch/sweep_plan.h"

/** Conditions of a fault study: points of a plan of lists of values. */

enum bw_fault_cross {
  BW_FAULT_CROSS_PAIRS, /**< any two values of two keys come together at least once */
  BW_FAULT_CROSS_FULL   /**< every combination */
};

/** Most conditions of one study. */
#define BW_FAULT_CONDITIONS_MOST 10000u

/** Free with bw_fault_plan_free(). */
struct bw_fault_plan {
  size_t count;
  size_t *point; /**< (count) owned, of the sweep plan; the first has the first value of each key */
};

/** Choose from `axes`, which has no points file. The pairs are covered greedily: the first pair
 *  that is missing is set, then each other key takes the value that brings most missing pairs with
 *  those set, the first of equals; the same lists give the same points. BW_E_USAGE for more than
 *  BW_FAULT_CONDITIONS_MOST conditions, BW_E_MEMORY. On error *out is zeroed. */
BW_MUST_CHECK enum bw_status bw_fault_plan_choose(const struct bw_sweep_plan *axes,
                                                  enum bw_fault_cross cross,
                                                  struct bw_fault_plan *out, struct bw_diag *diag);

void bw_fault_plan_free(struct bw_fault_plan *plan);

/** Place of the value that key `index` has at `point` in its list. */
size_t bw_fault_plan_place(const struct bw_sweep_plan *axes, size_t point, size_t index);

#endif
