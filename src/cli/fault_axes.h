/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_AXES_H
#define BW_FAULT_AXES_H

#include "brakeweave.h"
#include "options.h"

/** The lists of values that the conditions of a fault study combine. */

enum { BW_FAULT_AXIS_TEXT = 160, BW_FAULT_AXES_USUAL = 5 };

/** Start from {0}; free with bw_fault_axes_free(). Texts are borrowed by `axes`. */
struct bw_fault_axes {
  struct bw_sweep_plan axes;
  struct bw_fault_plan plan;
  bool is_usual; /**< the first value of each list is the case's own */
  char usual[BW_FAULT_AXES_USUAL][BW_FAULT_AXIS_TEXT];
  char given[BW_FAULT_CONDITIONS_MAX]; /**< faults.conditions, cut into lists */
  size_t key_count;
  const char **key;   /**< (key_count) */
  const char **value; /**< (plan.count x key_count), of `text` */
  char *text;
};

/** Take the lists of --over, else those of faults.conditions, else the usual ones of `loaded`;
 *  choose their combinations as --cross says. BW_E_USAGE for what bw_sweep_plan_add() and
 *  bw_fault_plan_choose() refuse. */
BW_MUST_CHECK enum bw_status bw_fault_axes_choose(const struct bw_arguments *arguments,
                                                  const struct bw_case *loaded,
                                                  struct bw_fault_axes *out, struct bw_diag *diag);

/** True when condition `condition` leaves key `index` as the case has it. */
bool bw_fault_axes_is_own(const struct bw_fault_axes *axes, size_t condition, size_t index);

void bw_fault_axes_free(struct bw_fault_axes *axes);

#endif
