/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MAKE_PACK_H
#define BW_MAKE_PACK_H

#include "model/battery.h"

/** A table of one value. */
struct bw_table1 make_constant(double value);

/** A pack of published 5 A h NMC/graphite cells, `cells` in series and `strings` side by side, its
 *  `resistance` (ohm) that of the pack; 50 % charged, 20 degrees C, 4.2 V and 2.5 V a cell, no
 *  limit of current. */
struct bw_battery make_pack(double cells, double strings, double resistance);

#endif
