/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DATA_DIR_H
#define BW_DATA_DIR_H

#include <stddef.h>

enum { BW_DATA_DIR_MAX = 4096 };

/** Find the folder that holds cycles/: environment BRAKEWEAVE_DATA if set, else for an installed
 *  program the configured data folder or ../share/brakeweave beside the program's folder, else the
 *  source tree's cases. The configured data folder is also the answer when none of them holds
 *  cycles/. `path` has BW_DATA_DIR_MAX bytes. */
void bw_data_dir(char *path);

#endif
