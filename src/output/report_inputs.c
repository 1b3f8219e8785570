/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/path.h"
#include "output/report.h"

#include "alloc.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_LENGTH = 8192, FILES_MOST = 1024, PARAMETERS_MOST = 400000, SOURCES_MOST = 64 };

/* what the figures stand on, and what each stands on itself */
static const char *const ASSUMPTIONS[] = {
    "<strong>Recovered</strong> is net at the battery's terminals while braking, after no-load "
    "losses and auxiliaries.",
    "<strong>Bounds</strong> are the best split of the braking really delivered, moment by moment, "
    "under every limit of machines and battery but without dead times, lags and slew; "
    "temperatures, charge and pulse budget as the run had them. They are no proven ceilings of "
    "another history.",
    "<strong>Felt line</strong> (assess.felt_line_g): 0.015 g unless the case says otherwise, from "
    "Lee et al., Ergonomics 50 (2007), abstract read. Dips are judged beside an envelope of the "
    "plain lags of the two paths.",
    "<strong>Balance rule</strong>: z ≥ 0.1 + c (k − 0.2) with level-road loads and brake forces "
    "only. c = 0.85 is that of the UN R13 text family (EU 2015/68 Annex II Appendix 1, read); 0.7 "
    "is believed to be that of UN R13-H, from memory, to be confirmed.",
    "<strong>Kinematic check and ledger</strong> are derived: kinetic and potential energy against "
    "the work of the torques.",
    "<strong>Cycles</strong> roll with a small slip and a grip limit that is reported, not "
    "simulated; simulation.fidelity = \"slip\" gives wheels of their own. Straight running only, "
    "no human pedal model, no wear, noise or moisture.",
    "<strong>Data of the car</strong> are those of the case, whose note says where they come "
    "from.",
};

/* whether an earlier row names the same source in the same words */
static bool is_repeated(const struct bw_report_table *assess, size_t row) {
  static const char *const columns[] = {"source", "paragraph", "certainty"};
  for (size_t before = 0; before < row; before++) {
    bool is_same = true;
    for (size_t i = 0; i < BW_REPORT_COUNT(columns); i++) {
      is_same = is_same && strcmp(bw_report_cell(assess, before, columns[i]),
                                  bw_report_cell(assess, row, columns[i])) == 0;
    }
    if (is_same) {
      return true;
    }
  }
  return false;
}

static void put_sources(const struct bw_report *report) {
  const struct bw_report_table *assess = &report->table[BW_REPORT_ASSESS];
  FILE *stream = report->stream;
  size_t listed = 0;
  (void)fputs("<h3>Sources of the requirements</h3>\n<ul>\n", stream);
  for (size_t row = 0; row < assess->rows && listed < SOURCES_MOST; row++) {
    const char *source = bw_report_cell(assess, row, "source");
    if (source[0] == '\0' || is_repeated(assess, row)) {
      continue;
    }
    listed++;
    (void)fputs("<li>", stream);
    bw_html_put(stream, source);
    const char *paragraph = bw_report_cell(assess, row, "paragraph");
    (void)fputs(paragraph[0] != '\0' ? ", " : "", stream);
    bw_html_put(stream, paragraph);
    (void)fputs(": ", stream);
    bw_html_put(stream, bw_report_cell(assess, row, "certainty"));
    (void)fputs("</li>\n", stream);
  }
  (void)fputs("</ul>\n<p>Read: the rule's own words; quoted: at second hand; from memory: to be "
              "confirmed; own limit: a choice of the case.</p>\n",
              stream);
}

static void put_file(const struct bw_report *report, const char *name) {
  char path[BW_FILE_PATH_MAX];
  char line[LINE_LENGTH];
  size_t written = 0;
  FILE *stream = bw_path_join(path, report->folder, name) ? fopen(path, "rb") : NULL;
  while (stream != NULL && written < PARAMETERS_MOST && fgets(line, sizeof line, stream) != NULL) {
    bw_html_put(report->stream, line);
    written += strlen(line);
  }
  if (stream != NULL) {
    (void)fclose(stream);
  }
  (void)fputs("</pre>", report->stream);
  if (written >= PARAMETERS_MOST) {
    (void)fprintf(report->stream, "<p>Cut here; %s has the rest.</p>", name);
  }
}

static void put_parameters(const struct bw_report *report) {
  struct bw_report_settings found[BW_REPORT_SETTINGS];
  const size_t count = bw_report_find_settings(report, found);
  if (count == 0) {
    (void)fputs("<p>The folder holds no resolved.cfg, so the parameters cannot be shown; run the "
                "case again with this version and --out into it.</p>\n",
                report->stream);
  }
  for (size_t i = 0; i < count; i++) {
    (void)fprintf(report->stream,
                  "<details><summary>Every parameter as %s used it</summary>\n"
                  "<pre tabindex=\"0\">",
                  found[i].verb);
    put_file(report, found[i].name);
    (void)fputs("</details>\n", report->stream);
  }
}

void bw_report_put_assumptions(const struct bw_report *report) {
  bw_html_section(report->stream, "assumptions", "Assumptions and their sources");
  (void)fputs("<ul>\n", report->stream);
  for (size_t i = 0; i < BW_REPORT_COUNT(ASSUMPTIONS); i++) {
    (void)fprintf(report->stream, "<li>%s</li>\n", ASSUMPTIONS[i]);
  }
  (void)fputs("</ul>\n", report->stream);
  if (bw_report_has(report, BW_REPORT_ASSESS)) {
    put_sources(report);
  }
  put_parameters(report);
}

static int compare_names(const void *a, const void *b) {
  const char *const *first = a;
  const char *const *second = b;
  return strcmp(*first, *second);
}

static bool ends_in(const char *name, const char *ending) {
  const size_t length = strlen(name);
  return name[0] != '.' && length >= strlen(ending) &&
         strcmp(name + length - strlen(ending), ending) == 0;
}

/* names of the folder's tables and of files of parameters, sorted; the caller frees them */
static enum bw_status list_files(const char *folder, char **name, size_t *count,
                                 struct bw_diag *diag) {
  DIR *stream = opendir(folder);
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, folder, 0, "cannot be read; check its permissions");
  }
  enum bw_status status = BW_OK;
  const struct dirent *entry = NULL;
  while (status == BW_OK && (entry = bw_path_next(stream)) != NULL) {
    if (!ends_in(entry->d_name, ".csv") && !ends_in(entry->d_name, "resolved.cfg")) {
      continue;
    }
    char *copy = *count < FILES_MOST ? bw_alloc(strlen(entry->d_name) + 1, 1) : NULL;
    if (copy == NULL) {
      status = *count < FILES_MOST
                   ? bw_fail(diag, BW_E_MEMORY, "out of memory for the report")
                   : bw_fail_at(diag, BW_E_INPUT, folder, 0,
                                "holds more than %d tables; report of a folder of one run",
                                (int)FILES_MOST);
      break;
    }
    memcpy(copy, entry->d_name, strlen(entry->d_name) + 1);
    name[(*count)++] = copy;
  }
  (void)closedir(stream);
  qsort(name, *count, sizeof *name, compare_names);
  return status;
}

static enum bw_status put_files(const struct bw_report *report, char *const *name, size_t count,
                                struct bw_diag *diag) {
  FILE *stream = report->stream;
  (void)fputs(
      "<section class=\"wide\" aria-labelledby=\"table-files-caption\" "
      "tabindex=\"0\"><table id=\"table-files\"><caption id=\"table-files-caption\"><span>Files "
      "of the folder. The hash is 64-bit FNV-1a of all bytes: against mix-ups, not "
      "against forgery. resolved.cfg is the input: every parameter as used, cycle named; "
      "running it again gives the same bytes. VERB-resolved.cfg is that of another "
      "verb.</span></caption>\n<thead><tr>"
      "<th scope=\"col\">file</th><th scope=\"col\">hash</th>"
      "<th scope=\"col\" class=\"n\">lines</th><th scope=\"col\" class=\"n\">bytes</th>"
      "</tr></thead>\n<tbody>\n",
      stream);
  for (size_t i = 0; i < count; i++) {
    char path[BW_FILE_PATH_MAX];
    struct bw_report_print print;
    if (!bw_path_join(path, report->folder, name[i])) {
      return bw_fail_at(diag, BW_E_USAGE, report->folder, 0, "path is too long; move the folder");
    }
    BW_TRY(bw_report_fingerprint(path, &print, diag));
    (void)fputs("<tr><th scope=\"row\">", stream);
    bw_html_put(stream, name[i]);
    (void)fprintf(stream,
                  "</th><td><code>%016" PRIx64 "</code></td><td class=\"n\">%zu</td>"
                  "<td class=\"n\">%zu</td></tr>\n",
                  print.hash, print.lines, print.bytes);
  }
  (void)fputs("</tbody></table></section>\n", stream);
  return BW_OK;
}

enum bw_status bw_report_put_inputs(const struct bw_report *report, struct bw_diag *diag) {
  bw_html_section(report->stream, "inputs", "Inputs, files and version");
  (void)fprintf(report->stream, "<p>Report by brakeweave %s.</p>\n", report->version);
  char **name = bw_alloc(FILES_MOST, sizeof *name);
  size_t count = 0;
  if (name == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  enum bw_status status = list_files(report->folder, name, &count, diag);
  if (status == BW_OK) {
    status = put_files(report, name, count, diag);
  }
  for (size_t i = 0; i < count; i++) {
    bw_free(name[i]);
  }
  bw_free(name);
  return status;
}

void bw_report_put_cautions(const struct bw_report *report) {
  bw_html_section(report->stream, "cautions", "Cautions");
  (void)fputs(
      "<p>Computed by a model of longitudinal braking with the parameters of this folder; no "
      "measurement, no approval, no proof of compliance. Confirm every figure on the car before it "
      "is released.</p>\n<p>Work on roads, rigs, high voltage and brake hydraulics can injure and "
      "kill: it belongs to trained and licensed people under the codes that hold where they are, "
      "with a fallback that stops the car.</p>\n<p>Rules are drawn as far as the parameters name "
      "them; whoever releases a brake system reads them in their valid wording.</p>\n",
      report->stream);
}
