/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CONFIG_FILE_H
#define BW_CONFIG_FILE_H

#include "input/trace.h"
#include "status.h"

#include <libconfig.h>

/** One text file of a case. Its `@include "path"` lines, which must stand outside groups, are
 *  taken out, so that each file is parsed alone and keeps its own line numbers. */

enum { BW_CONFIG_INCLUDES_MAX = 16, BW_CONFIG_DEPTH_MAX = 8 };

struct bw_config_include {
  char path[BW_PATH_MAX]; /**< resolved against the file in which the line stands */
  int line;
};

struct bw_config_file {
  char path[BW_PATH_MAX];
  char *text; /**< owned, include lines blanked */
  size_t length;
  size_t include_count;
  struct bw_config_include include[BW_CONFIG_INCLUDES_MAX];
};

/** Read `path`. Faults of the file as a whole (missing, a folder, empty, binary) are reported at
 *  `from_file`:`from_line` when it is included from there (NULL: at the path itself).
 *  BW_E_INPUT, BW_E_IO, BW_E_MEMORY. Free with bw_config_file_free(), after an error too. */
BW_MUST_CHECK enum bw_status bw_config_file_read(const char *path, const char *from_file,
                                                 int from_line, struct bw_config_file *out,
                                                 struct bw_diag *diag);

void bw_config_file_free(struct bw_config_file *file);

/** Parse into `config`, which is initialised. Syntax faults are reported with their line. */
BW_MUST_CHECK enum bw_status bw_config_file_parse(const struct bw_config_file *file,
                                                  config_t *config, struct bw_diag *diag);

/** `name` as a path: as it is when absolute, else inside the folder of `file` (NULL: the current
 *  folder). False when it does not fit. */
bool bw_path_beside(const char *file, const char *name, char path[BW_PATH_MAX]);

#endif
