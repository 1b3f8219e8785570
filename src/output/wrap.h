/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WRAP_H
#define BW_WRAP_H

#include <stdio.h>

/** Width of the pages for people, terminal columns. */
enum { BW_PAGE_WIDTH = 100 };

/** Print `text` in lines of at most BW_PAGE_WIDTH columns, broken at blanks: the first line
 *  starts with `lead`, the others are indented by as many blanks as `lead` is wide. A word that
 *  is too long keeps its own line. Control characters are printed as '?'. */
void bw_wrap_print(const char *lead, const char *text, FILE *stream);

/** Print `text` with control characters and invalid UTF-8 as '?'. */
void bw_clean_print(const char *text, FILE *stream);

/** The same for the first `length` bytes of a text. */
void bw_clean_print_part(const char *text, size_t length, FILE *stream);

#endif
