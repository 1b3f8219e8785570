/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CSV_TEXT_H
#define BW_CSV_TEXT_H

#include "status.h"

#include <stddef.h>

/** Content of a text file, read in one go. */
struct bw_csv_text {
  char *memory;      /**< all bytes, owned */
  const char *start; /**< behind a UTF-8 mark, inside `memory`; not terminated */
  size_t length;     /**< bytes from `start` */
};

/** Read `path` and make sure it is text. Missing or empty file, folder, device, more than 256 MiB,
 *  control bytes: BW_E_INPUT; read failure: BW_E_IO; BW_E_MEMORY. On error *out is zeroed. Free
 *  with bw_csv_text_free(). */
BW_MUST_CHECK enum bw_status bw_csv_text_read(const char *path, struct bw_csv_text *out,
                                              struct bw_diag *diag);

/** Free and zero; fine on a zeroed one. */
void bw_csv_text_free(struct bw_csv_text *text);

#endif
