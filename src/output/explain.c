/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/explain.h"

#include "alloc.h"
#include "input/unit.h"
#include "output/json.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

enum { LEAD_SIZE = 96 };

static void print_row(const struct bw_explain_row *row, FILE *stream) {
  char lead[LEAD_SIZE];
  char value[32] = "-";
  if (row->word[0] != '\0') {
    (void)snprintf(value, sizeof value, "%s", row->word);
  } else if (isfinite(row->value)) {
    (void)snprintf(value, sizeof value, "%.6g", row->value + 0.0);
  }
  if (row->word[0] != '\0') {
    (void)snprintf(lead, sizeof lead, "  %-33s %-16s  ", row->key, value);
  } else {
    (void)snprintf(lead, sizeof lead, "  %-33s %10s %-5s  ", row->key, value,
                   bw_unit_of_name(row->key)->text);
  }
  bw_wrap_print(lead, row->text, stream);
}

enum bw_status bw_explain_print(const struct bw_explanation *explanation, const char *version,
                                FILE *stream) {
  struct bw_explain_page *page = bw_alloc(1, sizeof *page);
  if (page == NULL) {
    return BW_E_MEMORY;
  }
  bw_explain_fill(explanation, page);
  const struct bw_sample *sample = &explanation->moment->sample;
  (void)fprintf(stream, "brakeweave %s: %s on ", version, explanation->strategy);
  bw_clean_print(explanation->loaded->name, stream);
  (void)fprintf(stream, ", control period %.6g s to %.6g s\n", sample->time,
                sample->time + sample->duration);
  const char *section = "";
  for (size_t i = 0; i < page->count; i++) {
    if (strcmp(section, page->row[i].section) != 0) {
      section = page->row[i].section;
      (void)fprintf(stream, "\n%s\n", section);
    }
    print_row(&page->row[i], stream);
  }
  (void)fputc('\n', stream);
  bw_wrap_print("  ",
                "Torques are at the axle, both wheels together, and positive when they retard. A "
                "prediction for engineering; it replaces no test and no approval.",
                stream);
  bw_free(page);
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}

static void put_value(const struct bw_explain_row *row, FILE *stream) {
  if (row->word[0] != '\0') {
    bw_json_put_string(row->word, stream);
  } else if (isfinite(row->value)) {
    (void)fprintf(stream, "%.17g", row->value + 0.0);
  } else {
    (void)fputs("null", stream);
  }
}

static void put_row(const struct bw_explain_row *row, FILE *stream) {
  (void)fputs("    {\"section\": ", stream);
  bw_json_put_string(row->section, stream);
  (void)fputs(", \"name\": ", stream);
  bw_json_put_string(row->key, stream);
  (void)fputs(", \"value\": ", stream);
  put_value(row, stream);
  (void)fputs(", \"unit\": ", stream);
  bw_json_put_string(row->word[0] != '\0' ? "" : bw_unit_of_name(row->key)->text, stream);
  (void)fputs(", \"text\": ", stream);
  bw_json_put_string(row->text, stream);
  (void)fputc('}', stream);
}

enum bw_status bw_explain_json(const struct bw_explanation *explanation, FILE *stream) {
  struct bw_explain_page *page = bw_alloc(1, sizeof *page);
  if (page == NULL) {
    return BW_E_MEMORY;
  }
  bw_explain_fill(explanation, page);
  const struct bw_sample *sample = &explanation->moment->sample;
  (void)fputs("{\n  \"case\": ", stream);
  bw_json_put_string(explanation->loaded->name, stream);
  (void)fputs(",\n  \"strategy\": ", stream);
  bw_json_put_string(explanation->strategy, stream);
  (void)fprintf(stream, ",\n  \"time_s\": %.17g,\n  \"period_end_s\": %.17g,\n  \"rows\": [\n",
                sample->time, sample->time + sample->duration);
  for (size_t i = 0; i < page->count; i++) {
    put_row(&page->row[i], stream);
    (void)fputs(i + 1 < page->count ? ",\n" : "\n", stream);
  }
  (void)fputs("  ]\n}\n", stream);
  bw_free(page);
  return ferror(stream) == 0 ? BW_OK : BW_E_IO;
}
