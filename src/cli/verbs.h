/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_VERBS_H
#define BW_VERBS_H

#include "controllers.h"
#include "options.h"

/** The verbs, one file each. */
extern const struct bw_verb BW_VERB_RUN;
extern const struct bw_verb BW_VERB_CHECK;
extern const struct bw_verb BW_VERB_LIST;
extern const struct bw_verb BW_VERB_EXPLAIN;
extern const struct bw_verb BW_VERB_FAULTS;
extern const struct bw_verb BW_VERB_PLOT;
extern const struct bw_verb BW_VERB_REPORT;
extern const struct bw_verb BW_VERB_SWEEP;
extern const struct bw_verb BW_VERB_ASSESS;
extern const struct bw_verb BW_VERB_JOIN;

/** Load the case that `arguments` name, with their --set options and the parameters of
 *  `controllers`; messages go to standard error. Gives the exit status, 0 when *out is filled;
 *  free it with bw_case_destroy(). */
int bw_verb_load_case(const struct bw_arguments *arguments,
                      const struct bw_controllers *controllers, struct bw_case **out);

#endif
