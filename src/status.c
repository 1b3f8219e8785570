/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "status.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* in front of a message that has no place */
static const char PROGRAM[] = "brakeweave: ";

static void add_line(struct bw_diag *diag, const char *file, int line, const char *format,
                     va_list arguments) BW_PRINTF(4, 0);
static void add_line(struct bw_diag *diag, const char *file, int line, const char *format,
                     va_list arguments) {
  if (diag == NULL) {
    return;
  }
  if (diag->count >= BW_DIAG_LINES) {
    diag->count++;
    return;
  }
  char *text = diag->line[diag->count++];
  int used = 0;
  if (file == NULL) {
    used = snprintf(text, BW_DIAG_LENGTH, "%s", PROGRAM);
  } else if (line > 0) {
    used = snprintf(text, BW_DIAG_LENGTH, "%.300s:%d: ", file, line);
  } else {
    used = snprintf(text, BW_DIAG_LENGTH, "%.300s: ", file);
  }
  if (used > 0 && used < BW_DIAG_LENGTH) {
    (void)vsnprintf(text + used, (size_t)(BW_DIAG_LENGTH - used), format, arguments);
  }
  for (char *c = text; *c != '\0'; c++) {
    if (iscntrl((unsigned char)*c)) {
      *c = '?';
    }
  }
}

enum bw_status bw_fail(struct bw_diag *diag, enum bw_status status, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  add_line(diag, NULL, 0, format, arguments);
  va_end(arguments);
  return status;
}

enum bw_status bw_fail_at(struct bw_diag *diag, enum bw_status status, const char *file, int line,
                          const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  add_line(diag, file, line, format, arguments);
  va_end(arguments);
  return status;
}

int bw_status_exit(enum bw_status status) {
  switch (status) {
#define BW_STATUS_EXIT(name, exit_status, text)                                                    \
  case name:                                                                                       \
    return exit_status;
    BW_STATUS_LIST(BW_STATUS_EXIT) /* NOLINT(bugprone-branch-clone): several end alike */
#undef BW_STATUS_EXIT
  default:
    return 70;
  }
}

const char *bw_status_text(enum bw_status status) {
  switch (status) {
#define BW_STATUS_TEXT(name, exit_status, text)                                                    \
  case name:                                                                                       \
    return text;
    BW_STATUS_LIST(BW_STATUS_TEXT)
#undef BW_STATUS_TEXT
  default:
    return "unknown status";
  }
}

const char *bw_diag_text(const struct bw_diag *diag, enum bw_status status) {
  return diag->count > 0 ? diag->line[0] : bw_status_text(status);
}

const char *bw_message_bare(const char *message) {
  const size_t length = sizeof PROGRAM - 1;
  return strncmp(message, PROGRAM, length) == 0 ? message + length : message;
}

bool bw_status_ends_all(enum bw_status status) {
  return status == BW_E_IO || status == BW_E_MEMORY || status == BW_E_INTERRUPTED ||
         status == BW_E_INTERNAL;
}

void bw_assert_failed(const char *condition, const char *file, int line) {
  /* the one exception to 'nothing below cli prints': the process is about to end */
  (void)fprintf(stderr, "brakeweave: %s:%d: assertion '%s' failed; please report this defect\n",
                file, line, condition);
  abort();
}
