/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_MAKE_CYCLE_H
#define BW_MAKE_CYCLE_H

#include "make_case.h"

/** Cycles whose wheel energies are known for RV-1, joined by straight lines: three published 1 Hz
 *  schedules (40 CFR Parts 86 and 600), and ECE-15 and EUDC put together from the break-points of
 *  UN R83, which are from memory. */
enum test_cycle {
  CYCLE_UDDS,
  CYCLE_HWFET,
  CYCLE_US06,
  CYCLE_ECE,
  CYCLE_EUDC,
  CYCLE_ECE_EUDC, /**< four times ECE-15, then EUDC */
  CYCLE_COUNT
};

const char *cycle_name(enum test_cycle cycle);

/** Give the case one of the cycles. Run from the source root. */
void make_cycle(struct bw_case *made, enum test_cycle cycle);

/** RV-1 with a lossless machine at the front on `cycle`. */
struct bw_case *make_cycle_case(enum test_cycle cycle);

/** The same with the machine off below 8 km/h, and charge power `charge_power` (W) limited by the
 *  battery's current, 0: no limit. */
struct bw_case *make_ceiling_case(enum test_cycle cycle, double charge_power);

#endif
