/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CHOSEN_H
#define BW_CHOSEN_H

#include "controllers.h"

/** The strategies that a verb is to run, each once, in the order in which they are named. */
struct bw_chosen {
  const struct bw_controllers *controllers; /**< borrowed */
  size_t count;
  const struct bw_blend_strategy **strategy; /**< (count) free with bw_free() */
};

/** Choose none, with room for all there are. BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_chosen_start(const struct bw_controllers *controllers,
                                             struct bw_chosen *out, struct bw_diag *diag);

/** Choose one, unless it is chosen already. */
void bw_chosen_add(struct bw_chosen *chosen, const struct bw_blend_strategy *strategy);

/** Choose what `name` means, 'all' for every built-in one. BW_E_USAGE. */
BW_MUST_CHECK enum bw_status bw_chosen_name(struct bw_chosen *chosen, const char *name,
                                            struct bw_diag *diag);

/** When none is chosen: what the case names, else every built-in one. */
void bw_chosen_complete(struct bw_chosen *chosen, const struct bw_case *loaded);

/** All of this for the --strategy options; every unknown name is told. BW_E_USAGE, BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_chosen_read(const struct bw_arguments *arguments,
                                            const struct bw_controllers *controllers,
                                            const struct bw_case *loaded, struct bw_chosen *out,
                                            struct bw_diag *diag);

#endif
