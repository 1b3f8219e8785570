/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_INTERRUPT_H
#define BW_INTERRUPT_H

#include <stdbool.h>

/** From now on a write beyond the limit on the size of files fails, as on a full disk, and does not
 *  end the program where it stands. */
void bw_interrupt_outlive_file_limit(void);

/** As it was at the start: for another program that this process becomes. */
void bw_interrupt_die_of_file_limit(void);

/** From now on SIGINT, SIGTERM and, unless it is ignored, SIGHUP only set a flag, so that nothing
 *  half-written stays. */
void bw_interrupt_watch(void);

/** True once one of them has arrived. */
bool bw_interrupt_has_come(void);

#endif
