/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CASE_BASE_H
#define BW_CASE_BASE_H

#include "input/case.h"

/** A case whose files are read and parsed once, to make many cases of it that differ in a few
 *  keys. Cases share its parameter table and, read-only, its traces, so it must outlive them;
 *  processes that are forked share them too. */
struct bw_case_base;

/** Read the files of `source` (its texts are copied) and apply its overrides. Statuses and messages
 *  as bw_case_load_with(); what only shows in the whole case is found when one is made. On error
 *  *out is NULL. */
BW_MUST_CHECK enum bw_status bw_case_base_read(const struct bw_case_source *source,
                                               const struct bw_extra_strategies *extra,
                                               struct bw_case_base **out, struct bw_diag *diag);

/** The case with further overrides: what bw_case_load_with() gives for all of them, bit for bit and
 *  message for message. Some traces are remembered; one that is there is not
 *  read again. Free *out with bw_case_destroy(). */
BW_MUST_CHECK enum bw_status bw_case_derive(struct bw_case_base *base,
                                            const struct bw_override *overrides, size_t count,
                                            struct bw_case **out, struct bw_diag *diag);

/** Free it, after all cases made of it; NULL is fine. */
void bw_case_base_destroy(struct bw_case_base *base);

#endif
