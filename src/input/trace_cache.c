/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/trace_cache.h"

#include "alloc.h"

#include <string.h>

static bool is_equal(double a, double b) {
  return !(a < b) && !(a > b);
}

static bool is_same(const struct bw_trace_key *a, const struct bw_trace_key *b) {
  const char *grade = b->grade; /* gcc 12 with sanitizers sees no text behind b->path otherwise */
  return strcmp(a->path, b->path) == 0 && strcmp(a->grade, grade) == 0 &&
         is_equal(a->box, b->box) && is_equal(a->grade_percent, b->grade_percent);
}

bool bw_trace_cache_find(const struct bw_trace_cache *cache, const struct bw_trace_key *key,
                         struct bw_trace *out) {
  for (size_t i = 0; i < cache->count; i++) {
    if (is_same(cache->key[i], key)) {
      *out = cache->trace[i];
      out->is_loan = true;
      return true;
    }
  }
  return false;
}

void bw_trace_cache_keep(struct bw_trace_cache *cache, const struct bw_trace_key *key,
                         struct bw_trace *trace) {
  struct bw_trace_key *copy = cache->count < BW_TRACE_CACHE_MAX ? bw_alloc(1, sizeof *copy) : NULL;
  if (copy == NULL) {
    return;
  }
  *copy = *key;
  cache->key[cache->count] = copy;
  cache->trace[cache->count] = *trace;
  cache->count++;
  trace->is_loan = true;
}

void bw_trace_cache_free(struct bw_trace_cache *cache) {
  for (size_t i = 0; i < cache->count; i++) {
    bw_free(cache->key[i]);
    bw_trace_free(&cache->trace[i]);
  }
  cache->count = 0;
}
