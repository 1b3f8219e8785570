/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_UTF8_H
#define BW_UTF8_H

#include <stddef.h>
#include <stdint.h>

/** UTF-8 for tables and JSON: decoding that survives any bytes, and columns on a terminal. */

/** What an invalid byte is read as. */
#define BW_UTF8_REPLACEMENT 0xFFFDu

/** Code point at *text, which moves behind it; an invalid or cut-off sequence, a surrogate or an
 *  overlong form is one BW_UTF8_REPLACEMENT for its first byte. 0 at the end, *text then stays. */
uint32_t bw_utf8_next(const char **text);

/** Columns that `text` takes on a terminal: 0 for combining marks, 2 for East Asian wide forms
 *  and pictographs, 1 for the rest, control characters included (they are printed as '?').
 *  Source: the wide and fullwidth blocks of Unicode Standard Annex 11, coarse; from memory. */
size_t bw_utf8_width(const char *text);

#endif
