/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SVG_INLINE_H
#define BW_SVG_INLINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/** Write the `length` characters of the SVG file `text` as an `<svg>` element of an HTML page.
 *
 *  Only what draws gets through: a list of elements and attributes, values without anything that
 *  could be run or fetched (references within the figure and PNG data excepted). Identifiers get
 *  `f<number>-` in front, so that several figures share a page. `label` is the accessible name and
 *  must be escaped. Groups without content are left out, paths and rows of marks are shortened:
 * positions hold to a twentieth of a unit.
 *
 *  False when the text is no whole SVG that draws something; what was written until then is to be
 *  thrown away. */
bool bw_svg_inline(const char *text, size_t length, unsigned number, const char *label,
                   FILE *stream);

#endif
