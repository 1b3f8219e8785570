/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/json.h"

#include "output/utf8.h"

#include <math.h>

/* one code point inside a JSON string */
static void put_point(uint32_t point, const char *bytes, size_t length, FILE *stream) {
  if (point == '"' || point == '\\') {
    (void)fprintf(stream, "\\%c", (char)point);
  } else if (point < 0x20 || point == 0x7F) {
    (void)fprintf(stream, "\\u%04x", (unsigned)point);
  } else if (point == BW_UTF8_REPLACEMENT) {
    (void)fputs("\\ufffd", stream);
  } else {
    (void)fwrite(bytes, 1, length, stream);
  }
}

void bw_json_put_string(const char *text, FILE *stream) {
  (void)fputc('"', stream);
  const char *place = text;
  for (uint32_t point = bw_utf8_next(&place); point != 0; point = bw_utf8_next(&place)) {
    put_point(point, text, (size_t)(place - text), stream);
    text = place;
  }
  (void)fputc('"', stream);
}

static void put_member(const char *name, const char *text, FILE *stream) {
  (void)fputs("    ", stream);
  bw_json_put_string(name, stream);
  (void)fputs(": ", stream);
  bw_json_put_string(text, stream);
  (void)fputs(",\n", stream);
}

static void put_result(const struct bw_results *results, size_t index, FILE *stream) {
  const struct bw_result *result = &results->result[index];
  (void)fputs("  {\n", stream);
  put_member("strategy", result->strategy->name, stream);
  put_member("verdict", bw_result_verdict(result), stream);
  put_member("verdict_reason", bw_result_reason(result), stream);
  put_member("balance_rule", bw_result_rule(result), stream);
  for (int i = 0; i < BW_SUMMARY_COUNT; i++) {
    const enum bw_summary_column column = (enum bw_summary_column)i;
    const double value = bw_result_value(result, column);
    (void)fprintf(stream, "    \"%s\": ", bw_summary_name(column));
    if (isfinite(value)) {
      (void)fprintf(stream, "%.17g", value + 0.0);
    } else {
      (void)fputs("null", stream);
    }
    (void)fputs(",\n", stream);
  }
  const double mark = bw_results_undominated(results, index);
  (void)fprintf(stream, "    \"non_dominated\": %s\n  }",
                isnan(mark)  ? "null"
                : mark > 0.0 ? "1"
                             : "0");
}

bool bw_write_summary_json(const struct bw_results *results, FILE *stream) {
  (void)fputs("[\n", stream);
  for (size_t i = 0; i < results->count; i++) {
    put_result(results, i, stream);
    (void)fputs(i + 1 < results->count ? ",\n" : "\n", stream);
  }
  (void)fputs("]\n", stream);
  return ferror(stream) == 0;
}
