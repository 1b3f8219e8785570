/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SHARED_OBJECT_H
#define BW_SHARED_OBJECT_H

#include "status.h"

/** Look at the head of the file `path` and say what is wrong if it cannot be a shared object for
 *  this machine's word size: missing, a folder, no ELF file, an object file not yet linked.
 *  BW_E_INPUT with a message that names the path. Nothing of the file is run. */
BW_MUST_CHECK enum bw_status bw_shared_object_check(const char *path, struct bw_diag *diag);

#endif
