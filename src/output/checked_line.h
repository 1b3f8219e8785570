/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CHECKED_LINE_H
#define BW_CHECKED_LINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/** Lines of text that carry their own checksum as their last word, so that one that is torn shows.
 */

enum { BW_CHECKED_LINE_MAX = 384 };

/** Start value of bw_checksum(). */
#define BW_CHECKSUM_START UINT64_C(0xcbf29ce484222325)

/** FNV-1a, 64 bits: finds what went wrong by accident, not what was forged. */
uint64_t bw_checksum(uint64_t sum, const void *bytes, size_t size);

/** Size and checksum of a file as it stands there; false, errno says why. */
bool bw_checksum_file(const char *path, uint64_t *size, uint64_t *sum);

/** The next line without its checksum; false at the end and when it is torn. */
bool bw_checked_line_read(FILE *file, char line[BW_CHECKED_LINE_MAX]);

/** Write and flush `line`, which has no end of its own. */
bool bw_checked_line_write(FILE *file, const char *line);

/** Put a file of that one line at `path`, whole or not at all, by way of `path`.partial. False,
 *  errno says why. */
bool bw_checked_line_put(const char *path, const char *line);

#endif
