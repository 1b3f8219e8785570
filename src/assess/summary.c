/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/summary.h"

#include "status.h"

#include <string.h>

static const char *const NAMES[BW_SUMMARY_COUNT] = {
#define BW_SUMMARY_NAME(id, name, help) [BW_SUMMARY_##id] = (name),
    BW_SUMMARY_COLUMNS(BW_SUMMARY_NAME)
#undef BW_SUMMARY_NAME
};

static const char *const HELPS[BW_SUMMARY_COUNT] = {
#define BW_SUMMARY_HELP(id, name, help) [BW_SUMMARY_##id] = (help),
    BW_SUMMARY_COLUMNS(BW_SUMMARY_HELP)
#undef BW_SUMMARY_HELP
};

const char *bw_summary_name(enum bw_summary_column column) {
  BW_ASSERT(column < BW_SUMMARY_COUNT);
  return NAMES[column];
}

const char *bw_summary_help(enum bw_summary_column column) {
  BW_ASSERT(column < BW_SUMMARY_COUNT);
  return HELPS[column];
}

enum bw_summary_column bw_summary_find(const char *name) {
  for (size_t i = 0; i < BW_SUMMARY_COUNT; i++) {
    if (strcmp(NAMES[i], name) == 0) {
      return (enum bw_summary_column)i;
    }
  }
  return BW_SUMMARY_COUNT;
}

const char *bw_verdict_text(enum bw_verdict verdict) {
  switch (verdict) {
  case BW_VERDICT_KEPT:
    return "kept";
  case BW_VERDICT_MISSED:
    return "missed";
  case BW_VERDICT_NOT_RANKED:
    return "not ranked";
  }
  return "unknown";
}
