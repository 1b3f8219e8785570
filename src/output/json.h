/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_JSON_H
#define BW_JSON_H

#include "output/result.h"

#include <stdio.h>

/** Write `text` as a JSON string; invalid UTF-8 becomes U+FFFD. */
void bw_json_put_string(const char *text, FILE *stream);

/** Write the summary as a JSON array (RFC 8259) with an object per strategy whose members are the
 *  columns of summary.csv; not applicable is null, invalid UTF-8 becomes U+FFFD. False on a write
 *  error. */
bool bw_write_summary_json(const struct bw_results *results, FILE *stream);

#endif
