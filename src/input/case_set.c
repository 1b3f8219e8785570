/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"
#include "input/number.h"

#include <stdio.h>
#include <string.h>

enum { LABEL_SIZE = 220 };

static void set_value(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                      const char *value) {
  const struct bw_param *param = bw_param_at(loader->values->table, index);
  double number = 0.0;
  switch (param->kind) {
  case BW_PARAM_NUMBER:
    if (bw_number_parse(value, strlen(value), &number)) {
      bw_assign_number(loader, index, place, number);
    } else {
      char got[96];
      (void)snprintf(got, sizeof got, "'%.80s'", value);
      bw_assign_wrong_type(loader, index, place, got);
    }
    break;
  case BW_PARAM_BOOL:
    if (strcmp(value, "true") == 0 || strcmp(value, "false") == 0) {
      bw_assign_bool(loader, index, place, value[0] == 't');
    } else {
      char got[96];
      (void)snprintf(got, sizeof got, "'%.80s'", value);
      bw_assign_wrong_type(loader, index, place, got);
    }
    break;
  case BW_PARAM_CHOICE:
  case BW_PARAM_TEXT:
  case BW_PARAM_TABLE:
    bw_assign_text(loader, index, place, value);
    break;
  }
}

static void set_accept(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                       const char *value) {
  double number = 0.0;
  if (bw_number_parse(value, strlen(value), &number)) {
    bw_accept_take(loader, place, key, number);
  } else {
    BW_LOADER_FAIL(loader, place->file, 0, "'%.80s' is no number; give the limit as a number",
                   value);
  }
}

/* one `key=value` */
static void set(struct bw_case_loader *loader, const char *text) {
  const char *equals = strchr(text, '=');
  if (equals == NULL || equals == text) {
    BW_LOADER_FAIL(loader, "--set", 0, "'%.160s' names no value; write --set key=value", text);
    return;
  }
  char label[LABEL_SIZE];
  const int length = snprintf(label, sizeof label, "--set %.*s", (int)(equals - text), text);
  if (length < 0 || length >= LABEL_SIZE) {
    BW_LOADER_FAIL(loader, "--set", 0, "key is too long; see brakeweave list parameters");
    return;
  }
  const char *key = label + strlen("--set ");
  const struct bw_place place = {.file = label, .line = 0, .depth = -1, .base = NULL};
  const size_t index = bw_param_index(loader->values->table, key);
  if (index < bw_param_count(loader->values->table)) {
    set_value(loader, index, &place, equals + 1);
    loader->values->value[index].is_set = true;
  } else if (strncmp(key, "accept.", 7) == 0) {
    set_accept(loader, &place, key + 7, equals + 1);
  } else if (strncmp(key, "tolerances.", 11) == 0) {
    bw_tolerance_take(loader, &place, key + 11, equals + 1);
  } else {
    bw_case_refuse_key(loader, &place, key);
  }
}

void bw_case_override(struct bw_case_loader *loader, const struct bw_override *overrides,
                      size_t count) {
  for (size_t i = 0; i < count; i++) {
    set(loader, overrides[i].text);
  }
}
