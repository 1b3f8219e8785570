/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CATALOGUE_H
#define BW_CATALOGUE_H

#include "status.h"

#include <stddef.h>

/** The published cycles that come with the program, by name (wltc-3b, udds, ...). */
struct bw_cycle_entry {
  const char *name;
  const char *file;   /**< file name inside the cycles folder */
  const char *source; /**< regulation or paper that publishes it, and which totals were not read */
  double duration;    /**< s, published */
  double distance;    /**< m, published */
  double speed_max;   /**< m/s, published; `source` says where it is counted in the file instead */
};

size_t bw_cycle_count(void);
const struct bw_cycle_entry *bw_cycle_at(size_t index);       /**< NULL beyond the end */
const struct bw_cycle_entry *bw_cycle_find(const char *name); /**< NULL if unknown */

/** Path of the CSV of `name`: a catalogue name is looked up in `data_dir`/cycles (the folder the
 *  program was told or installed with) and must be a readable file there. A name with a '/' or
 *  the ending .csv is a path, relative to `base_dir` ("" or NULL: as it is) unless absolute;
 *  whether it exists shows when it is read. Anything else is BW_E_INPUT with the nearest name. */
BW_MUST_CHECK enum bw_status bw_cycle_path(const char *name, const char *data_dir,
                                           const char *base_dir, char *path, size_t path_size,
                                           struct bw_diag *diag);

#endif
