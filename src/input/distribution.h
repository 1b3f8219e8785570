/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_DISTRIBUTION_H
#define BW_DISTRIBUTION_H

#include "input/param.h"

/** How a parameter spreads, written as one word and its numbers in the key's unit:
 *
 *    normal:STD          normal:MEAN:STD
 *    bounded:STD:MIN:MAX bounded:MEAN:STD:MIN:MAX   (a normal one, truncated)
 *    uniform:MIN:MAX
 *    triangular:MIN:MAX  triangular:MIN:MODE:MAX
 *
 *  MEAN and MODE that are left out are the case's value. */

enum { BW_DISTRIBUTION_WHY_MAX = 256 };

/** Read `text` for the number key `param` and check what can be checked without a case: words,
 *  count of numbers, a spread above 0, MIN below MAX, MODE between them, and every declared end and
 *  centre inside the key's range. False with the reason and its mending in `why`; *out is then
 *  left alone. */
bool bw_distribution_parse(const char *text, const struct bw_param *param,
                           struct bw_distribution *out, char why[BW_DISTRIBUTION_WHY_MAX]);

#endif
