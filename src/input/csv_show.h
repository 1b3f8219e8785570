/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CSV_SHOW_H
#define BW_CSV_SHOW_H

#include <stddef.h>

enum { BW_CSV_SHOWN_MAX = 100 };

/** Cell as shown in a message: at most 24 bytes, what is not plain ASCII as \xNN. */
void bw_csv_show(const char *cell, size_t length, char shown[BW_CSV_SHOWN_MAX]);

#endif
