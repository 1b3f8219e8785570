/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CONTROLLERS_H
#define BW_CONTROLLERS_H

#include "brakeweave.h"
#include "options.h"

/** The controllers that --strategy options name by a path, loaded; and the lookup of strategies by
 *  name or path. Start from {0}. */
struct bw_controllers {
  size_t count;
  struct bw_plugin **plugin;                 /**< (count) owned */
  const struct bw_blend_strategy **strategy; /**< (count) of the plugins */
  double deadline;                           /**< s of --deadline, 0: not given */
};

/** Load every --strategy value that holds a '/', each path once, and read --deadline. Two
 *  controllers of one name: BW_E_INPUT. Free with bw_controllers_free() in any case. */
BW_MUST_CHECK enum bw_status bw_controllers_load(const struct bw_arguments *arguments,
                                                 struct bw_controllers *out, struct bw_diag *diag);

void bw_controllers_free(struct bw_controllers *controllers);

/** The strategy that `name` means: a built-in one, or the path or name of a loaded one. BW_E_USAGE
 *  with the nearest name. */
BW_MUST_CHECK enum bw_status bw_controllers_strategy(const struct bw_controllers *controllers,
                                                     const char *name,
                                                     const struct bw_blend_strategy **out,
                                                     struct bw_diag *diag);

/** The loaded controller behind `strategy`, NULL for a built-in one. */
const struct bw_plugin *bw_controllers_find(const struct bw_controllers *controllers,
                                            const struct bw_blend_strategy *strategy);

/** All of them, for the parameter table. */
struct bw_extra_strategies bw_controllers_extra(const struct bw_controllers *controllers);

/** How a run of `loaded` is contained: --deadline, else what bw_containment_deadline() says; an
 *  interrupt ends it. */
struct bw_containment bw_controllers_containment(const struct bw_controllers *controllers,
                                                 const struct bw_case *loaded);

#endif
