/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A figure on its way into the report: nothing that runs or fetches gets through. */
#include "fuzz.h"
#include "output/svg_inline.h"
#include "output/svg_read.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool starts(struct bw_span span, const char *word) {
  return span.length >= strlen(word) && memcmp(span.at, word, strlen(word)) == 0;
}

static void check_tag(const struct bw_svg_token *token) {
  static const char *const NEVER[] = {"script", "foreignObject", "iframe", "style", "a"};
  for (size_t i = 0; i < sizeof NEVER / sizeof NEVER[0]; i++) {
    FUZZ_CHECK(!bw_span_is(token->text, NEVER[i]));
  }
  for (size_t i = 0; i < token->attribute_count; i++) {
    const struct bw_svg_attribute *attribute = &token->attribute[i];
    const bool is_reference =
        bw_span_is(attribute->name, "href") || bw_span_is(attribute->name, "xlink:href");
    FUZZ_CHECK(!starts(attribute->name, "on"));
    FUZZ_CHECK(!is_reference || starts(attribute->value, "#") ||
               starts(attribute->value, "data:image/png"));
  }
}

static void check_harmless(const char *page, size_t length) {
  const char *at = page;
  struct bw_svg_token token;
  for (bw_svg_next(&at, page + length, &token); token.kind != BW_SVG_END;
       bw_svg_next(&at, page + length, &token)) {
    FUZZ_CHECK(token.kind != BW_SVG_BROKEN);
    if (token.kind == BW_SVG_OPEN) {
      check_tag(&token);
    }
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char *page = NULL;
  size_t length = 0;
  char *text = malloc(size > 0 ? size : 1); /* no NUL behind it */
  FILE *stream = open_memstream(&page, &length);
  FUZZ_CHECK(stream != NULL && text != NULL);
  if (size > 0) {
    memcpy(text, bytes, size);
  }
  const bool is_whole = bw_svg_inline(text, size, 3, "a figure", stream);
  FUZZ_CHECK(fclose(stream) == 0);
  if (is_whole) {
    FUZZ_CHECK(strlen(page) == length);
    FUZZ_CHECK(strstr(page, "<svg") != NULL && strstr(page, "</svg>") != NULL);
    check_harmless(page, length);
  }
  free(page);
  free(text);
  return 0;
}
