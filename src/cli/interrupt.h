/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_INTERRUPT_H
#define BW_INTERRUPT_H

#include <stdbool.h>

/** From now on SIGINT and SIGTERM only set a flag, so that nothing half-written stays. */
void bw_interrupt_watch(void);

/** True once one of them has arrived. */
bool bw_interrupt_has_come(void);

#endif
