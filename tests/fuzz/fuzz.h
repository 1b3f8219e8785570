/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FUZZ_H
#define BW_FUZZ_H

/** What the fuzz targets share. A target is one file with LLVMFuzzerTestOneInput(): it hands
 * hostile bytes to a reader of ours and checks what must hold of any outcome. It is built with the
 * plain main of fuzz_main.c, which runs the files of the corpus, or with libFuzzer. */

#include "status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* NOLINTNEXTLINE(readability-identifier-naming): libFuzzer looks for this name */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size); /* NOLINT: libFuzzer's name */

/** A property: what does not hold is told, and the program aborted, as a crash would. */
#define FUZZ_CHECK(condition) ((condition) ? (void)0 : fuzz_failed(#condition, __FILE__, __LINE__))
_Noreturn void fuzz_failed(const char *condition, const char *file, int line);

enum { FUZZ_PATH = 384 };

/** A folder of one input's own under /tmp, gone with all that is in it after fuzz_folder_remove().
 */
struct fuzz_folder {
  char path[64];
};
void fuzz_folder_make(struct fuzz_folder *folder);
void fuzz_folder_remove(const struct fuzz_folder *folder);

/** Write FOLDER/NAME and give its path. */
void fuzz_write(const struct fuzz_folder *folder, const char *name, const void *bytes, size_t size,
                char path[FUZZ_PATH]);

/** Several files in one input: each begins behind a line `== NAME`. Names are letters, digits, '-'
 *  and '.', in the folder or its subfolder figures/; sections of any other name are left out. */
void fuzz_write_sections(const struct fuzz_folder *folder, const uint8_t *bytes, size_t size);

/** A copy of the bytes that ends with NUL; free(). */
char *fuzz_text(const uint8_t *bytes, size_t size);

/** What holds of any reader: no message on success, at least one otherwise, each a line of its own;
 *  never a defect of ours (BW_E_INTERNAL). */
void fuzz_check_outcome(enum bw_status status, const struct bw_diag *diag);

#endif
