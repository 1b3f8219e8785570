/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REGENERATION_CSV_H
#define BW_REGENERATION_CSV_H

#include "input/case.h"

#include <stdbool.h>
#include <stdio.h>

/** regeneration-map.csv: what machines and battery of the case allow over road speed (every
 *  2 km/h up to where the last machine allows nothing more) and state of charge (every 2.5 %):
 *  greatest braking torque per axle with both machines at work, its power at the axles, and what
 *  limits the one that gives more. Machines and battery have the temperatures of the case's start,
 *  the pulse budget is full, wheels do not slip. A car without machines has the header only.
 *  False on a write error. */
bool bw_write_regeneration_csv(const struct bw_case *loaded, FILE *stream);

#endif
