/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"

#include <stdint.h>
#include <stdlib.h>

/* the only mutable globals of the library, and only tests set them */
static bw_alloc_hook alloc_hook;
static void *alloc_hook_context;

void bw_alloc_set_hook(bw_alloc_hook hook, void *context) {
  alloc_hook = hook;
  alloc_hook_context = context;
}

static bool is_allowed(size_t count, size_t size) {
  if (size != 0 && count > SIZE_MAX / size) {
    return false;
  }
  return alloc_hook == NULL || alloc_hook(alloc_hook_context);
}

void *bw_alloc(size_t count, size_t size) {
  if (!is_allowed(count, size)) {
    return NULL;
  }
  return calloc(count == 0 ? 1 : count, size == 0 ? 1 : size);
}

void *bw_realloc(void *old, size_t count, size_t size) {
  if (!is_allowed(count, size)) {
    return NULL;
  }
  const size_t bytes = count * size;
  return realloc(old, bytes == 0 ? 1 : bytes);
}

void bw_free(void *memory) {
  free(memory);
}
