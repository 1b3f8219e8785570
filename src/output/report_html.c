/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report_html.h"

#include "output/report_table.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { PATH_LENGTH = 4096, HANDOVERS_SHOWN = 100, COLUMNS_MAX = 12 };

/* bytes of figures, so that the page stays below 3 MiB */
#define FIGURES_BUDGET 1600000

struct column {
  const char *name;  /* in the CSV */
  const char *title; /* with unit */
};

struct report {
  const char *folder;
  FILE *stream;
  struct bw_report_table summary;
  struct bw_report_table handovers;
  struct bw_report_table ledger;
};

static const struct column STRATEGIES[] = {
    {"strategy", "strategy"},
    {"verdict", "verdict"},
    {"energy_battery_kj", "recovered, kJ"},
    {"recovered_share", "share of the demand"},
    {"of_recoverable_rule", "share of the most under the rule"},
    {"friction_share_front", "friction front, share"},
    {"friction_share_rear", "friction rear, share"},
    {"dip_peak_mps2", "deepest dip, m/s²"},
    {"net_consumption_wh_per_km", "consumption, Wh/km"},
};
static const struct column HANDOVERS[] = {
    {"strategy", "strategy"},
    {"handover", "no."},
    {"cause", "cause"},
    {"start_s", "start, s"},
    {"end_s", "end, s"},
    {"speed_start_kmh", "speed, km/h"},
    {"dip_peak_mps2", "dip, m/s²"},
    {"surge_peak_mps2", "surge, m/s²"},
    {"gap_jerk_peak_mps3", "jerk, m/s³"},
};
static const struct column BALANCE[] = {
    {"strategy", "strategy"},
    {"balance_rule", "rule"},
    {"axle_margin_worst", "smallest margin, adhesion"},
    {"axle_violations", "violations"},
    {"axle_violation_s", "violated, s"},
    {"adhesion_exceeded_s", "adhesion exceeded, s"},
};
static const struct column LEDGER[] = {
    {"strategy", "strategy"},
    {"machine_axle_kj", "machines at the axles, kJ"},
    {"friction_front_kj", "friction front, kJ"},
    {"friction_rear_kj", "friction rear, kJ"},
    {"cells_kj", "cells, kJ"},
    {"residual_mechanical", "mechanical residual"},
    {"residual_electrical", "electrical residual"},
};

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static void put_escaped(const char *text, FILE *stream) {
  for (; *text != '\0'; text++) {
    const unsigned char byte = (unsigned char)*text;
    switch (byte) {
    case '<':
      (void)fputs("&lt;", stream);
      break;
    case '>':
      (void)fputs("&gt;", stream);
      break;
    case '&':
      (void)fputs("&amp;", stream);
      break;
    case '"':
      (void)fputs("&quot;", stream);
      break;
    case '\'':
      (void)fputs("&#39;", stream);
      break;
    default:
      (void)fputc(byte < ' ' && byte != '\n' && byte != '\t' ? '?' : byte, stream);
    }
  }
}

/* a number with six digits, other text as it is, nothing as a dash */
static void put_cell(const char *text, FILE *stream) {
  char *end = NULL;
  const double value = strtod(text, &end);
  if (text[0] == '\0') {
    (void)fputs("<td class=\"n\">–</td>", stream);
  } else if (*end == '\0') {
    (void)fprintf(stream, "<td class=\"n\">%.6g</td>", value);
  } else {
    (void)fputs("<td>", stream);
    put_escaped(text, stream);
    (void)fputs("</td>", stream);
  }
}

static enum bw_status check_columns(const struct report *report, const char *file,
                                    const struct bw_report_table *table,
                                    const struct column *column, size_t count,
                                    struct bw_diag *diag) {
  char path[PATH_LENGTH];
  (void)snprintf(path, sizeof path, "%s/%s", report->folder, file);
  for (size_t i = 0; i < count; i++) {
    if (bw_report_table_column(table, column[i].name) == table->columns) {
      return bw_fail_at(diag, BW_E_INPUT, path, 1,
                        "column '%s' is missing; run the case again with this version",
                        column[i].name);
    }
  }
  return BW_OK;
}

static void put_table(FILE *stream, const struct bw_report_table *table, const char *caption,
                      const struct column *column, size_t count) {
  size_t index[COLUMNS_MAX] = {0};
  const size_t rows = table->rows;
  const size_t shown = rows < HANDOVERS_SHOWN ? rows : HANDOVERS_SHOWN;
  (void)fprintf(stream, "<div class=\"wide\" tabindex=\"0\"><table><caption>%s", caption);
  if (shown < rows) {
    (void)fprintf(stream, " The first %zu of %zu; the CSV holds them all.", shown, rows);
  }
  (void)fputs("</caption>\n<thead><tr>", stream);
  for (size_t i = 0; i < count; i++) {
    index[i] = bw_report_table_column(table, column[i].name);
    (void)fprintf(stream, "<th scope=\"col\">%s</th>", column[i].title);
  }
  (void)fputs("</tr></thead>\n<tbody>\n", stream);
  for (size_t row = 0; row < shown; row++) {
    (void)fputs("<tr><th scope=\"row\">", stream);
    put_escaped(bw_report_table_text(table, row, index[0]), stream);
    (void)fputs("</th>", stream);
    for (size_t i = 1; i < count; i++) {
      put_cell(bw_report_table_text(table, row, index[i]), stream);
    }
    (void)fputs("</tr>\n", stream);
  }
  (void)fputs("</tbody></table></div>\n", stream);
}

static void put_head(const struct report *report) {
  (void)fputs(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<title>Brake blending report</title>\n<style>\n"
      "body{font:16px/1.5 sans-serif;color:#222;background:#fff;max-width:60rem;margin:auto;"
      "padding:1rem}\n"
      "table{border-collapse:collapse;font-size:.85rem}caption{text-align:left;padding:.4rem 0}\n"
      "th,td{border-bottom:1px solid #ccc;padding:.25rem .5rem;text-align:left;"
      "vertical-align:bottom}\n"
      ".n{text-align:right;font-variant-numeric:tabular-nums}.wide{overflow-x:auto}\n"
      "img{max-width:100%;height:auto}figure{margin:1rem 0;break-inside:avoid}\n"
      "pre{overflow-x:auto;font-size:.75rem;white-space:pre-wrap;overflow-wrap:anywhere}\n"
      "@page{size:A4;margin:15mm}@media print{body{font-size:10pt;padding:0}"
      ".wide{overflow:visible}table{font-size:7pt}tr{break-inside:avoid}}\n"
      "</style>\n</head>\n<body>\n<main>\n<h1>Brake blending report</h1>\n",
      report->stream);
}

/* one `key = "text"` line of resolved.cfg, without its quotes and comment */
static void put_setting(const char *title, char *line, FILE *stream) {
  char *from = strchr(line, '"');
  char *comment = strstr(line, "\"; #");
  if (from == NULL || comment == NULL || comment <= from + 1) {
    return;
  }
  *comment = '\0';
  (void)fprintf(stream, "<li>%s: ", title);
  put_escaped(from + 1, stream);
  (void)fputs("</li>\n", stream);
}

/* which case, trace and car the page is about */
static void put_subject(const struct report *report) {
  static const char *const wanted[][3] = {{"case: {", "  name =", "case"},
                                          {"cycle: {", "  name =", "driven"},
                                          {"vehicle: {", "  name =", "car"},
                                          {"vehicle: {", "  note =", "data"}};
  char path[PATH_LENGTH];
  char line[2048];
  char group[64] = "";
  (void)snprintf(path, sizeof path, "%s/resolved.cfg", report->folder);
  FILE *stream = fopen(path, "rb");
  (void)fputs("<ul>\n", report->stream);
  while (stream != NULL && fgets(line, sizeof line, stream) != NULL) {
    if (line[0] != ' ') {
      (void)snprintf(group, sizeof group, "%.60s", line);
    }
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
      if (strncmp(group, wanted[i][0], strlen(wanted[i][0])) == 0 &&
          strncmp(line, wanted[i][1], strlen(wanted[i][1])) == 0) {
        put_setting(wanted[i][2], line, report->stream);
      }
    }
  }
  (void)fputs("</ul>\n", report->stream);
  if (stream != NULL) {
    (void)fclose(stream);
  }
}

static void put_verdict(const struct report *report) {
  const struct bw_report_table *table = &report->summary;
  const size_t strategy = bw_report_table_column(table, "strategy");
  const size_t verdict = bw_report_table_column(table, "verdict");
  const size_t reason = bw_report_table_column(table, "verdict_reason");
  size_t kept = 0;
  for (size_t row = 0; row < table->rows; row++) {
    kept += strcmp(bw_report_table_text(table, row, verdict), "kept") == 0 ? 1 : 0;
  }
  (void)fprintf(report->stream,
                "<h2 id=\"verdict\">Verdict</h2>\n<p><strong>%zu of %zu strategies kept every "
                "acceptance limit of the case.</strong></p>\n<ul>\n",
                kept, table->rows);
  for (size_t row = 0; row < table->rows; row++) {
    (void)fputs("<li>", report->stream);
    put_escaped(bw_report_table_text(table, row, strategy), report->stream);
    (void)fputs(": ", report->stream);
    put_escaped(bw_report_table_text(table, row, verdict), report->stream);
    if (bw_report_table_text(table, row, reason)[0] != '\0') {
      (void)fputs(", ", report->stream);
      put_escaped(bw_report_table_text(table, row, reason), report->stream);
    }
    (void)fputs("</li>\n", report->stream);
  }
  (void)fputs("</ul>\n", report->stream);
}

static void put_base64(FILE *from, FILE *to) {
  static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  unsigned char in[3] = {0};
  for (size_t count = fread(in, 1, 3, from); count > 0; count = fread(in, 1, 3, from)) {
    const unsigned second = count > 1 ? in[1] : 0;
    const unsigned third = count > 2 ? in[2] : 0;
    (void)fputc(digits[in[0] >> 2], to);
    (void)fputc(digits[((in[0] & 3u) << 4) | (second >> 4)], to);
    (void)fputc(count > 1 ? digits[((second & 15u) << 2) | (third >> 6)] : '=', to);
    (void)fputc(count > 2 ? digits[third & 63u] : '=', to);
  }
}

/* an image of its own, so that nothing in it can reach the page; false when it is not there,
   older than the results or beyond the budget */
static bool put_figure(const struct report *report, const char *kind, const char *what,
                       const char *strategy, long *budget) {
  char path[PATH_LENGTH];
  struct stat info;
  struct stat results;
  (void)snprintf(path, sizeof path, "%s/summary.csv", report->folder);
  const bool has_results = stat(path, &results) == 0;
  const int length = snprintf(path, sizeof path, "%s/figures/%s%s%s.svg", report->folder, kind,
                              strategy[0] != '\0' ? "-" : "", strategy);
  if (length >= PATH_LENGTH || !has_results || stat(path, &info) != 0 || info.st_size > *budget ||
      info.st_mtime < results.st_mtime) {
    return false;
  }
  FILE *figure = fopen(path, "rb");
  if (figure == NULL) {
    return false;
  }
  *budget -= (long)info.st_size;
  (void)fprintf(report->stream, "<figure><img alt=\"%s ", what);
  put_escaped(strategy, report->stream);
  (void)fputs("\" src=\"data:image/svg+xml;base64,", report->stream);
  put_base64(figure, report->stream);
  (void)fclose(figure);
  (void)fprintf(report->stream, "\"><figcaption>%s ", what);
  put_escaped(strategy, report->stream);
  (void)fputs("</figcaption></figure>\n", report->stream);
  return true;
}

static void put_figures(const struct report *report) {
  static const struct column kinds[] = {
      {"brake-torque", "Braking torque by source over time, strategy"},
      {"hand-over", "Hand-over with the deepest dip, strategy"},
      {"adhesion", "Adhesion used by the axles, strategy"},
      {"waterfall", "From the braking delivered to the cells, strategy"},
  };
  long budget = FIGURES_BUDGET;
  (void)fputs("<h2 id=\"figures\">Figures</h2>\n", report->stream);
  size_t shown = put_figure(report, "energy", "Braking energy by strategy", "", &budget) ? 1 : 0;
  const size_t strategy = bw_report_table_column(&report->summary, "strategy");
  for (size_t row = 0; row < report->summary.rows; row++) {
    for (size_t i = 0; i < COUNT(kinds); i++) {
      shown += put_figure(report, kinds[i].name, kinds[i].title,
                          bw_report_table_text(&report->summary, row, strategy), &budget)
                   ? 1
                   : 0;
    }
  }
  (void)fprintf(report->stream,
                "<p>%zu figures. Shown are the SVG files of the folder's figures/ that are not "
                "older than the results, as far as they fit; 'brakeweave plot' draws them.</p>\n",
                shown);
}

static void put_parameters(const struct report *report) {
  char path[PATH_LENGTH];
  char line[2048];
  (void)snprintf(path, sizeof path, "%s/resolved.cfg", report->folder);
  FILE *stream = fopen(path, "rb");
  (void)fputs("<h2 id=\"assumptions\">Assumptions: every parameter as it was used</h2>\n<pre "
              "tabindex=\"0\">",
              report->stream);
  while (stream != NULL && fgets(line, sizeof line, stream) != NULL) {
    put_escaped(line, report->stream);
  }
  (void)fputs("</pre>\n", report->stream);
  if (stream != NULL) {
    (void)fclose(stream);
  }
}

static void put_foot(const struct report *report, const char *version) {
  (void)fprintf(report->stream,
                "<h2 id=\"inputs\">Files and version</h2>\n<p>brakeweave %s. 64-bit FNV-1a hashes, "
                "against mix-ups and not against forgery: summary.csv %016" PRIx64
                ", handovers.csv %016" PRIx64 ", ledger.csv %016" PRIx64 ".</p>\n",
                version, report->summary.hash, report->handovers.hash, report->ledger.hash);
  (void)fputs("<h2 id=\"cautions\">Cautions</h2>\n<p>Computed by a model of longitudinal braking "
              "with the parameters above; no measurement, no approval. Work on roads, rigs, high "
              "voltage and brake hydraulics belongs to trained and licensed people under the codes "
              "that hold where they are. What counts as recovered "
              "is net at the battery's terminals. Rules are drawn as far as the parameters name "
              "them.</p>\n</main>\n</body>\n</html>\n",
              report->stream);
}

static enum bw_status read_tables(struct report *report, struct bw_diag *diag) {
  static const char *const names[] = {"summary.csv", "handovers.csv", "ledger.csv"};
  static const struct column also[] = {{"verdict_reason", ""}};
  struct bw_report_table *const tables[] = {&report->summary, &report->handovers, &report->ledger};
  for (size_t i = 0; i < COUNT(names); i++) {
    char path[PATH_LENGTH];
    const int length = snprintf(path, sizeof path, "%s/%s", report->folder, names[i]);
    if (length < 0 || length >= PATH_LENGTH) {
      return bw_fail_at(diag, BW_E_USAGE, report->folder, 0, "path is too long; move the folder");
    }
    BW_TRY(bw_report_table_read(path, tables[i], diag));
  }
  BW_TRY(check_columns(report, names[0], tables[0], also, COUNT(also), diag));
  BW_TRY(check_columns(report, names[0], tables[0], STRATEGIES, COUNT(STRATEGIES), diag));
  BW_TRY(check_columns(report, names[0], tables[0], BALANCE, COUNT(BALANCE), diag));
  BW_TRY(check_columns(report, names[1], tables[1], HANDOVERS, COUNT(HANDOVERS), diag));
  return check_columns(report, names[2], tables[2], LEDGER, COUNT(LEDGER), diag);
}

enum bw_status bw_report_write(const char *folder, const char *version, FILE *stream,
                               struct bw_diag *diag) {
  struct report report = {.folder = folder, .stream = stream};
  const enum bw_status status = read_tables(&report, diag);
  if (status == BW_OK) {
    put_head(&report);
    put_subject(&report);
    put_verdict(&report);
    (void)fputs("<h2 id=\"strategies\">Strategies</h2>\n", stream);
    put_table(stream, &report.summary, "Energy and comfort by strategy.", STRATEGIES,
              COUNT(STRATEGIES));
    put_figures(&report);
    (void)fputs("<h2 id=\"handovers\">Hand-overs</h2>\n", stream);
    put_table(stream, &report.handovers, "Hand-overs between machines and friction brakes.",
              HANDOVERS, COUNT(HANDOVERS));
    (void)fputs("<h2 id=\"balance\">Balance of the axles</h2>\n", stream);
    put_table(stream, &report.summary, "The rule of adhesion used.", BALANCE, COUNT(BALANCE));
    (void)fputs("<h2 id=\"ledger\">Ledger and checks</h2>\n", stream);
    put_table(stream, &report.ledger, "Energy books; a residual is the share left unexplained.",
              LEDGER, COUNT(LEDGER));
    put_parameters(&report);
    put_foot(&report, version);
  }
  bw_report_table_free(&report.summary);
  bw_report_table_free(&report.handovers);
  bw_report_table_free(&report.ledger);
  return status;
}
