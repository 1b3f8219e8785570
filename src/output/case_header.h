/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CASE_HEADER_H
#define BW_CASE_HEADER_H

#include "input/case.h"

#include <stdbool.h>
#include <stdio.h>

/** Print a few lines for people that say what a case is: vehicle, load state, masses, machines,
 *  cycle with its source, start of the battery, temperatures, the case's note. False on a write
 *  error. */
bool bw_case_header_print(const struct bw_case *loaded, FILE *stream);

#endif
