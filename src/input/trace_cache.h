/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TRACE_CACHE_H
#define BW_TRACE_CACHE_H

#include "input/trace.h"

/** Traces that were read already, by what they were read from. */

enum { BW_TRACE_CACHE_MAX = 32 };

struct bw_trace_key {
  char path[BW_PATH_MAX];
  char grade[BW_PATH_MAX]; /**< "" for a level road */
  double box;              /**< s, joining width */
  double grade_percent;    /**< added to the profile */
};

struct bw_trace_cache {
  size_t count;
  struct bw_trace_key *key[BW_TRACE_CACHE_MAX]; /**< (count) owned */
  struct bw_trace trace[BW_TRACE_CACHE_MAX];    /**< (count) owned */
};

/** A loan of the trace of `key`; false when it is not there. */
bool bw_trace_cache_find(const struct bw_trace_cache *cache, const struct bw_trace_key *key,
                         struct bw_trace *out);

/** Keep *trace, which becomes a loan; when there is no room it stays what it is. */
void bw_trace_cache_keep(struct bw_trace_cache *cache, const struct bw_trace_key *key,
                         struct bw_trace *trace);

void bw_trace_cache_free(struct bw_trace_cache *cache);

#endif
