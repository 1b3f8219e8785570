/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SVG_PATH_H
#define BW_SVG_PATH_H

#include "output/svg_read.h"

#include <stdio.h>

/** Path data in few bytes: positions in tenths of a unit, steps from the last one, steps of no
 *  length left out. Positions are rounded, not steps, so no error adds up. */

/** A position in tenths of a unit. */
struct bw_tenths {
  long x;
  long y;
};

/** Whether `data` is made of nothing but `M x,y`, `L x,y` and `Z`, which is what
 *  bw_svg_put_path() shortens; anything else is to be copied. */
bool bw_svg_is_plain_path(struct bw_span data);

/** Write such a path. */
void bw_svg_put_path(struct bw_span data, FILE *stream);

/** Write the points `x,y x,y ...` of a polygon (is_closed) or line as path data; whatever is no
 *  pair of numbers ends it. */
void bw_svg_put_points(struct bw_span points, bool is_closed, FILE *stream);

/** Read `translate(x,y) scale(s)`; false when the span is not this. `scale` in units. */
bool bw_svg_read_mark(struct bw_span transform, struct bw_tenths *at, double *scale);

/** Write a step, `x` and `y` apart from each other by a separator only where one is needed. */
void bw_svg_put_step(char command, struct bw_tenths step, FILE *stream);

#endif
