/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/find_edge.h"

#include "input/number.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NAME_SIZE = 64, HALVINGS_MAX = 200 };

/* the longer ones first */
static const struct {
  const char *text;
  enum bw_relation relation;
} OPERATORS[] = {
    {">=", BW_RELATION_AT_LEAST}, {"<=", BW_RELATION_AT_MOST}, {"==", BW_RELATION_EQUAL},
    {"!=", BW_RELATION_OTHER},    {">", BW_RELATION_ABOVE},    {"<", BW_RELATION_BELOW},
};

#define FORM "write --find 'COLUMN>NUMBER', with > >= < <= == or !="

static enum bw_status fail_column(const char *name, struct bw_diag *diag) {
  const char *names[BW_SUMMARY_COUNT];
  for (int i = 0; i < (int)BW_SUMMARY_COUNT; i++) {
    names[i] = bw_summary_name((enum bw_summary_column)i);
  }
  const size_t nearest = bw_nearest(name, names, BW_SUMMARY_COUNT);
  if (nearest < BW_SUMMARY_COUNT) {
    return bw_fail(diag, BW_E_USAGE, "cannot find by unknown column '%s'; did you mean '%s'?", name,
                   names[nearest]);
  }
  return bw_fail(diag, BW_E_USAGE,
                 "cannot find by unknown column '%s'; 'brakeweave list columns' names them", name);
}

/* the operator at *at, which moves behind it */
static enum bw_status read_relation(const char *text, const char **at, enum bw_relation *relation,
                                    struct bw_diag *diag) {
  const size_t count = sizeof OPERATORS / sizeof OPERATORS[0];
  size_t i = 0;
  while (i < count && strncmp(*at, OPERATORS[i].text, strlen(OPERATORS[i].text)) != 0) {
    i++;
  }
  if (i == count) {
    return bw_fail(diag, BW_E_USAGE, "'%.100s' has no operator that is known; " FORM, text);
  }
  *at += strlen(OPERATORS[i].text);
  *relation = OPERATORS[i].relation;
  return BW_OK;
}

static enum bw_status read_verdict(const char *text, const char *at, struct bw_condition *read,
                                   struct bw_diag *diag) {
  static const enum bw_verdict all[] = {BW_VERDICT_KEPT, BW_VERDICT_MISSED, BW_VERDICT_NOT_RANKED};
  char word[NAME_SIZE];
  at += strspn(at, " ");
  (void)snprintf(word, sizeof word, "%s", at);
  for (size_t end = strlen(word); end > 0 && word[end - 1] == ' '; end--) {
    word[end - 1] = '\0';
  }
  const bool is_equality =
      read->relation == BW_RELATION_EQUAL || read->relation == BW_RELATION_OTHER;
  for (size_t i = 0; i < sizeof all / sizeof all[0] && is_equality; i++) {
    if (strcmp(word, bw_verdict_text(all[i])) == 0) {
      read->verdict = all[i];
      return BW_OK;
    }
  }
  return bw_fail(diag, BW_E_USAGE,
                 "'%.100s' is no question about a verdict; write --find 'verdict==WORD' or "
                 "'verdict!=WORD' with kept, missed or not ranked",
                 text);
}

enum bw_status bw_condition_read(const char *text, struct bw_condition *out, struct bw_diag *diag) {
  char name[NAME_SIZE];
  const char *start = text + strspn(text, " ");
  const size_t length = strcspn(start, " <>=!");
  const char *at = start + length;
  at += strspn(at, " ");
  if (length == 0 || length >= sizeof name) {
    return bw_fail(diag, BW_E_USAGE, "'%.100s' names no column; " FORM, text);
  }
  (void)snprintf(name, sizeof name, "%.*s", (int)length, start);
  struct bw_condition read = {.is_of_verdict = strcmp(name, "verdict") == 0,
                              .column = bw_summary_find(name)};
  if (read.column == BW_SUMMARY_COUNT && !read.is_of_verdict) {
    return fail_column(name, diag);
  }
  BW_TRY(read_relation(text, &at, &read.relation, diag));
  if (read.is_of_verdict) {
    BW_TRY(read_verdict(text, at, &read, diag));
  } else if (!bw_number_parse(at, strlen(at), &read.number)) {
    return bw_fail(diag, BW_E_USAGE, "'%.100s' has no number behind the operator; " FORM, text);
  }
  *out = read;
  return BW_OK;
}

static bool holds(const struct bw_condition *condition, double value) {
  const double number = condition->number;
  switch (condition->relation) {
  case BW_RELATION_ABOVE:
    return value > number;
  case BW_RELATION_AT_LEAST:
    return value >= number;
  case BW_RELATION_BELOW:
    return value < number;
  case BW_RELATION_AT_MOST:
    return value <= number;
  case BW_RELATION_EQUAL:
    return value >= number && value <= number;
  case BW_RELATION_OTHER:
    return value > number || value < number;
  }
  return false;
}

enum bw_probe bw_condition_probe(const struct bw_condition *condition, double value) {
  if (isnan(value)) {
    return BW_PROBE_UNKNOWN;
  }
  return holds(condition, value) ? BW_PROBE_HOLDS : BW_PROBE_CLEAR;
}

enum bw_probe bw_condition_probe_summary(const struct bw_condition *condition,
                                         const struct bw_summary *summary) {
  if (!condition->is_of_verdict) {
    return bw_condition_probe(condition, summary->value[condition->column]);
  }
  const bool is_it = summary->verdict == condition->verdict;
  return is_it == (condition->relation == BW_RELATION_EQUAL) ? BW_PROBE_HOLDS : BW_PROBE_CLEAR;
}

static enum bw_status ask(const struct bw_edge_search *search, double value, struct bw_edge *out,
                          enum bw_probe *probe) {
  BW_TRY(search->probe(search->context, value, probe));
  out->probes++;
  out->unknown += *probe == BW_PROBE_UNKNOWN ? 1 : 0;
  return BW_OK;
}

static enum bw_status scan(const struct bw_edge_search *search, struct bw_edge *out) {
  enum bw_probe before = BW_PROBE_UNKNOWN;
  for (size_t i = 0; i < search->count; i++) {
    enum bw_probe now = BW_PROBE_UNKNOWN;
    BW_TRY(ask(search, search->value[i], out, &now));
    if (now == BW_PROBE_UNKNOWN) {
      continue;
    }
    out->crossings += before != BW_PROBE_UNKNOWN && before != now ? 1 : 0;
    before = now;
    if (now == BW_PROBE_HOLDS && isnan(out->first)) {
      out->first = search->value[i];
      out->end = i == 0 ? BW_EDGE_AT_START : BW_EDGE_FOUND;
    } else if (isnan(out->first)) {
      out->clear = search->value[i];
      out->end = BW_EDGE_NONE;
    }
  }
  return BW_OK;
}

enum bw_status bw_find_edge(const struct bw_edge_search *search, struct bw_edge *out) {
  BW_ASSERT(search->count >= 2 && search->within > 0.0);
  *out = (struct bw_edge){.end = BW_EDGE_UNKNOWN, .first = (double)NAN, .clear = (double)NAN};
  BW_TRY(scan(search, out));
  if (out->end != BW_EDGE_FOUND || isnan(out->clear)) {
    return BW_OK;
  }
  for (int i = 0; i < HALVINGS_MAX && fabs(out->first - out->clear) > search->within; i++) {
    enum bw_probe now = BW_PROBE_UNKNOWN;
    const double middle = bw_number_rounded(out->clear + 0.5 * (out->first - out->clear));
    BW_TRY(ask(search, middle, out, &now));
    if (now == BW_PROBE_UNKNOWN) {
      break;
    }
    *(now == BW_PROBE_HOLDS ? &out->first : &out->clear) = middle;
  }
  out->is_narrow = fabs(out->first - out->clear) <= search->within;
  return BW_OK;
}
