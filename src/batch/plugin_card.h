/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PLUGIN_CARD_H
#define BW_PLUGIN_CARD_H

#include "batch/parcel.h"
#include "strategies/blend.h"

/** What a loaded controller says about itself, copied so that it outlives the child process in
 *  which alone the controller's code ever runs. */

enum {
  BW_PLUGIN_NAME_MAX = 48, /**< bytes with the end: fits keys and file names */
  BW_PLUGIN_PARAM_NAME_MAX = 64,
  BW_PLUGIN_HELP_MAX = 256,
  BW_PLUGIN_PARAMS_MAX = 64,
  BW_PLUGIN_TABLES_MAX = 8,
  BW_PLUGIN_STATE_MAX = 1 << 26 /**< bytes of state */
};

struct bw_plugin_param {
  char name[BW_PLUGIN_PARAM_NAME_MAX];
  char help[BW_PLUGIN_HELP_MAX];
  double min;
  double max;
  double fallback;
};

struct bw_plugin_table {
  char name[BW_PLUGIN_PARAM_NAME_MAX];
  char columns[BW_PLUGIN_HELP_MAX];
  char help[BW_PLUGIN_HELP_MAX];
};

struct bw_plugin_card {
  uint32_t abi;
  uint32_t flags;
  size_t state_size;
  size_t param_count;
  char name[BW_PLUGIN_NAME_MAX];
  char summary[BW_PLUGIN_HELP_MAX];
  struct bw_plugin_param param[BW_PLUGIN_PARAMS_MAX]; /**< (param_count) the rest zeroed */
  size_t table_count;
  struct bw_plugin_table table[BW_PLUGIN_TABLES_MAX]; /**< (table_count) the rest zeroed */
};

/** Read the contract that `strategy` exports into *card and check it: version, name, parameter
 *  table, functions. BW_E_INPUT with a message that starts with `path`; *card is then undefined.
 *  To be called in a child: pointers of a broken table may lead anywhere. */
BW_MUST_CHECK enum bw_status bw_plugin_card_read(const char *path,
                                                 const struct bw_blend_strategy *strategy,
                                                 struct bw_plugin_card *card, struct bw_diag *diag);

#endif
