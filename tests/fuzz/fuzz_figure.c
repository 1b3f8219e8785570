/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A figure on its way into the report: nothing that runs or fetches gets through. */
#include "fuzz.h"
#include "output/svg_inline.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void check_harmless(const char *page) {
  static const char *const NEVER[] = {"<script",  "<foreignObject", "<iframe", " onload",
                                      " onclick", "javascript:",    "<!ENTITY"};
  for (size_t i = 0; i < sizeof NEVER / sizeof NEVER[0]; i++) {
    FUZZ_CHECK(strstr(page, NEVER[i]) == NULL);
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
    check_harmless(page);
  }
  free(page);
  free(text);
  return 0;
}
