/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_NUMBER_H
#define BW_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/** Whole, finite number in C notation ('.' decimal point whatever the locale; blanks around it
 *  allowed) from `length` bytes of `text`; hexadecimal, inf, nan, a value too large for a double
 *  and anything longer than 255 bytes are refused. True and *value on success, else *value is
 *  left alone. Correctly rounded. */
bool bw_number_parse(const char *text, size_t length, double *value);

/** Index of the candidate nearest to `word` by edit distance (Levenshtein), or `count` when none
 *  is nearer than a third of the word's length plus one. Words above 127 bytes match nothing;
 *  of equally near ones the first counts. */
size_t bw_nearest(const char *word, const char *const *candidates, size_t count);

/** `value` as it is read back once it is written into a case, with 15 digits. */
double bw_number_rounded(double value);

#endif
