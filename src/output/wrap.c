/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/wrap.h"

#include "output/utf8.h"

#include <stdbool.h>
#include <string.h>

/* print [text, end) clean; with stream NULL only count its columns */
static size_t put_clean(const char *text, const char *end, FILE *stream) {
  size_t width = 0;
  while (text < end) {
    const char *next = text;
    char cell[8] = {0};
    const uint32_t point = bw_utf8_next(&next);
    const bool is_bad = point < 0x20 || (point >= 0x7F && point < 0xA0) ||
                        (point >= 0x202A && point <= 0x202E) || point == BW_UTF8_REPLACEMENT;
    if (is_bad) {
      cell[0] = '?';
    } else {
      memcpy(cell, text, (size_t)(next - text));
    }
    width += bw_utf8_width(cell);
    if (stream != NULL) {
      (void)fputs(cell, stream);
    }
    text = next;
  }
  return width;
}

void bw_clean_print(const char *text, FILE *stream) {
  (void)put_clean(text, text + strlen(text), stream);
}

void bw_clean_print_part(const char *text, size_t length, FILE *stream) {
  (void)put_clean(text, text + length, stream);
}

void bw_wrap_print(const char *lead, const char *text, FILE *stream) {
  const size_t indent = bw_utf8_width(lead);
  size_t used = indent;
  bw_clean_print(lead, stream);
  bool is_line_start = true;
  while (*text != '\0') {
    const size_t length = strcspn(text, " ");
    const size_t width = put_clean(text, text + length, NULL);
    if (!is_line_start && used + 1 + width > BW_PAGE_WIDTH) {
      (void)fprintf(stream, "\n%*s", (int)indent, "");
      used = indent;
      is_line_start = true;
    }
    if (!is_line_start) {
      (void)fputc(' ', stream);
      used++;
    }
    (void)put_clean(text, text + length, stream);
    used += width;
    is_line_start = false;
    text += length;
    text += strspn(text, " ");
  }
  (void)fputc('\n', stream);
}
