/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_GROWTH_H
#define BW_GROWTH_H

#include "alloc.h"
#include "status.h"

/** Room for one more item of `size` bytes in a list of *capacity items at *list (type: pointer to
 *  the items' pointer), doubling when full. BW_E_MEMORY; the list is then as before. */
BW_MUST_CHECK static inline enum bw_status bw_growth_reserve(void **list, size_t *capacity,
                                                             size_t count, size_t size,
                                                             struct bw_diag *diag) {
  if (count < *capacity) {
    return BW_OK;
  }
  const size_t wanted = *capacity > 0 ? 2 * *capacity : 64;
  void *grown = bw_realloc(*list, wanted, size);
  if (grown == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "no memory for %zu list entries", wanted);
  }
  *list = grown;
  *capacity = wanted;
  return BW_OK;
}

#endif
