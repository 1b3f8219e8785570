/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ALLOC_H
#define BW_ALLOC_H

#include <stdbool.h>
#include <stddef.h>

/** All memory of the library passes through here, so that tests can make the n-th request fail.
 *  Nothing of the step loop allocates. */

/** Zeroed memory for `count` items of `size` bytes, NULL when there is none or when the product
 *  overflows. Caller frees with bw_free(). */
void *bw_alloc(size_t count, size_t size);

/** Grow `old` (NULL allowed) to `count` items of `size` bytes; contents kept, the rest
 *  undefined. NULL on failure, `old` then stays valid. */
void *bw_realloc(void *old, size_t count, size_t size);

/** Free memory of bw_alloc() or bw_realloc(); NULL is fine. */
void bw_free(void *memory);

/** A hook for fault tests: asked before each request; returning false makes it fail. NULL (the
 *  default) allows everything. Not for use while other threads allocate. */
typedef bool (*bw_alloc_hook)(void *context);
void bw_alloc_set_hook(bw_alloc_hook hook, void *context);

#endif
