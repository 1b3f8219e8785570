/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report.h"

#include "output/path.h"

#include <string.h>

enum { LINE_LENGTH = 8192 };

/* the text of a `key = "text"; # comment` line of a file of parameters, its escapes undone, in
 * place; NULL when there is none */
static char *read_setting(char *line) {
  char *from = strchr(line, '"');
  if (from == NULL) {
    return NULL;
  }
  char *to = line;
  for (from++; *from != '"' && *from != '\0'; from++) {
    from += *from == '\\' && from[1] != '\0' ? 1 : 0;
    *to++ = *from;
  }
  *to = '\0';
  return to > line ? line : NULL;
}

/* a text: the line that starts with `key` in a group */
struct wanted {
  const char *group;
  const char *key;
  const char *title; /* NULL: the bare text */
  bool is_path;      /* or a word; of a path the last part is shown */
};

static bool put_setting(const struct wanted *wanted, char *line, FILE *stream) {
  const char *text = read_setting(line);
  if (text == NULL) {
    return false;
  }
  const char *slash = wanted->is_path ? strrchr(text, '/') : NULL;
  if (wanted->title != NULL) {
    (void)fprintf(stream, "<dt>%s</dt><dd>", wanted->title);
  }
  bw_html_put(stream, slash != NULL ? slash + 1 : text);
  (void)fputs(wanted->title != NULL ? "</dd>\n" : "", stream);
  return true;
}

/* gives the number of settings written */
static size_t put_settings(const struct bw_report *report, const char *file,
                           const struct wanted *wanted, size_t count) {
  char path[BW_FILE_PATH_MAX];
  char line[LINE_LENGTH];
  char group[64] = "";
  size_t written = 0;
  FILE *stream = bw_path_join(path, report->folder, file) ? fopen(path, "rb") : NULL;
  while (stream != NULL && fgets(line, sizeof line, stream) != NULL) {
    if (line[0] != ' ') {
      (void)snprintf(group, sizeof group, "%.60s", line);
    }
    for (size_t i = 0; i < count; i++) {
      if (strncmp(group, wanted[i].group, strlen(wanted[i].group)) == 0 &&
          strncmp(line, wanted[i].key, strlen(wanted[i].key)) == 0) {
        written += put_setting(&wanted[i], line, report->stream) ? 1 : 0;
        line[0] = '\0';
      }
    }
  }
  if (stream != NULL) {
    (void)fclose(stream);
  }
  return written;
}

void bw_report_put_name(const struct bw_report *report) {
  static const struct wanted name = {"case: {", "  name =", NULL, false};
  struct bw_report_settings found[BW_REPORT_SETTINGS];
  if (bw_report_find_settings(report, found) == 0 ||
      put_settings(report, found[0].name, &name, 1) == 0) {
    bw_html_put(report->stream, report->folder);
  }
}

/* case, trace and car; of a verb that was given other parameters than the first one as well */
static void put_cases(const struct bw_report *report) {
  static const struct wanted wanted[] = {{"case: {", "  name =", "case", false},
                                         {"case: {", "  note =", "note", false},
                                         {"cycle: {", "  name =", "driven", true},
                                         {"vehicle: {", "  name =", "car", false},
                                         {"vehicle: {", "  note =", "data of the car", false}};
  static const struct wanted brief[] = {{"case: {", "  name =", NULL, false},
                                        {"cycle: {", "  name =", NULL, true},
                                        {"vehicle: {", "  name =", NULL, false}};
  struct bw_report_settings found[BW_REPORT_SETTINGS];
  const size_t count = bw_report_find_settings(report, found);
  if (count > 0) {
    (void)put_settings(report, found[0].name, wanted, BW_REPORT_COUNT(wanted));
  }
  for (size_t i = 1; i < count; i++) {
    (void)fprintf(report->stream, "<dt>but %s</dt><dd>", found[i].verb);
    for (size_t k = 0; k < BW_REPORT_COUNT(brief); k++) {
      (void)fputs(k > 0 ? "; " : "", report->stream);
      (void)put_settings(report, found[i].name, &brief[k], 1);
    }
    (void)fputs("; with other ", report->stream);
    bw_report_put_difference(report, &found[i], &found[0]);
    (void)fprintf(report->stream, " than %s (<a href=\"#assumptions\">all</a>)</dd>\n",
                  found[0].verb);
  }
}

void bw_report_put_subject(const struct bw_report *report) {
  static const struct {
    enum bw_report_file file;
    const char *verb;
  } sources[] = {{BW_REPORT_SUMMARY, "run"},
                 {BW_REPORT_ASSESS, "assess"},
                 {BW_REPORT_FAULTS, "faults"},
                 {BW_REPORT_SWEEP, "sweep"},
                 {BW_REPORT_FIND, "sweep --find"}};
  const char *gap = "";
  (void)fputs("<dl>\n", report->stream);
  put_cases(report);
  (void)fputs("<dt>results of</dt><dd>", report->stream);
  for (size_t i = 0; i < BW_REPORT_COUNT(sources); i++) {
    if (bw_report_has(report, sources[i].file)) {
      (void)fprintf(report->stream, "%s%s", gap, sources[i].verb);
      gap = ", ";
    }
  }
  (void)fprintf(report->stream, "</dd>\n<dt>report by</dt><dd>brakeweave %s</dd>\n</dl>\n",
                report->version);
}
