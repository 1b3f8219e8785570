/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/verdict.h"

#include "attributes.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static void add_reason(struct bw_summary *summary, const char *format, ...) BW_PRINTF(2, 3);

static void add_reason(struct bw_summary *summary, const char *format, ...) {
  size_t length = strlen(summary->reason);
  if (length > 0 && length + 2 < sizeof summary->reason) {
    (void)snprintf(summary->reason + length, sizeof summary->reason - length, "; ");
    length += 2;
  }
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(summary->reason + length, sizeof summary->reason - length, format, arguments);
  va_end(arguments);
}

static bool is_missed(const struct bw_accept *accept, double value) {
  if (isnan(value)) {
    return true;
  }
  return (accept->has_min && value < accept->min) || (accept->has_max && value > accept->max);
}

static double column_value(const struct bw_summary *summary, const struct bw_accept *accept) {
  const enum bw_summary_column column = bw_summary_find(accept->column);
  return column < BW_SUMMARY_COUNT ? summary->value[column] : (double)NAN;
}

size_t bw_verdict_missed(const struct bw_case *loaded, const struct bw_summary *summary) {
  size_t missed = 0;
  for (size_t i = 0; i < loaded->accept_count; i++) {
    const struct bw_accept *accept = &loaded->accept[i];
    missed += is_missed(accept, column_value(summary, accept)) ? 1 : 0;
  }
  return missed;
}

static void name_missed(const struct bw_accept *accept, struct bw_summary *summary) {
  const double value = column_value(summary, accept);
  if (!is_missed(accept, value)) {
    return;
  }
  if (isnan(value)) {
    add_reason(summary, "%s has no value", accept->column);
  } else if (accept->has_max && value > accept->max) {
    add_reason(summary, "%s %.4g above %.4g", accept->column, value, accept->max);
  } else {
    add_reason(summary, "%s %.4g below %.4g", accept->column, value, accept->min);
  }
}

void bw_verdict_judge(const struct bw_case *loaded, struct bw_summary *summary) {
  const double *value = summary->value;
  summary->verdict = BW_VERDICT_KEPT;
  summary->reason[0] = '\0';
  const bool has_broken = value[BW_SUMMARY_AXLE_VIOLATIONS] > 0.0;
  const bool has_beaten = has_broken && value[BW_SUMMARY_OF_RECOVERABLE_RULE] > 1.0;
  const bool has_slipped = value[BW_SUMMARY_ADHESION_EXCEEDED] > 0.0;
  if (has_slipped) {
    add_reason(summary, "more grip asked for than there is for %.3g s",
               value[BW_SUMMARY_ADHESION_EXCEEDED]);
  }
  if (has_broken) {
    add_reason(summary, "balance rule broken for %.3g s%s", value[BW_SUMMARY_AXLE_VIOLATION_TIME],
               has_beaten ? " and its bound beaten by that" : "");
  }
  for (size_t i = 0; i < loaded->accept_count; i++) {
    name_missed(&loaded->accept[i], summary);
  }
  if (has_slipped || has_beaten) {
    summary->verdict = BW_VERDICT_NOT_RANKED;
  } else if (bw_verdict_missed(loaded, summary) > 0 ||
             (has_broken && !loaded->assess.has_antilock)) {
    summary->verdict = BW_VERDICT_MISSED;
  }
}
