/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report_html.h"

#include "output/report.h"

#include <stdlib.h>

/* a page that mail and meeting rooms take; the margin is for the tags around the figures */
enum { PAGE_MOST = 3 * 1024 * 1024, PAGE_MARGIN = 32 * 1024 };

static const char *const STYLE[] = {
#include "output/report_css.inc"
};
static const char *const SCRIPT[] = {
#include "output/report_js.inc"
};

static void put_lines(FILE *stream, const char *const *line, size_t count) {
  for (size_t i = 0; i < count; i++) {
    (void)fputs(line[i], stream);
  }
}

/* the policy lets nothing be fetched, and no script run but the page's own */
static void put_head(const struct bw_report *report) {
  FILE *stream = report->stream;
  (void)fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
              "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
              "img-src data:; style-src 'unsafe-inline'; script-src 'sha256-" BW_REPORT_SCRIPT
              "'\">\n"
              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
              "<title>Brake blending report: ",
              stream);
  bw_report_put_name(report);
  (void)fputs("</title>\n<style>\n", stream);
  put_lines(stream, STYLE, BW_REPORT_COUNT(STYLE));
  (void)fputs("</style>\n</head>\n<body>\n<main>\n<h1>Brake blending report</h1>\n", stream);
}

static void put_contents(const struct bw_report *report) {
  const bool has_run = bw_report_has(report, BW_REPORT_SUMMARY);
  const struct {
    const char *id;
    const char *title;
    bool is_there;
  } sections[] = {
      {"strategies", "Strategies", has_run},
      {"figures", "Figures", true},
      {"handovers", "Hand-overs", has_run},
      {"balance", "Balance", has_run || bw_report_has(report, BW_REPORT_BALANCE)},
      {"requirements", "Requirements", bw_report_has(report, BW_REPORT_ASSESS)},
      {"descents", "Descents", bw_report_has(report, BW_REPORT_DESCENT)},
      {"faults", "Faults", bw_report_has(report, BW_REPORT_FAULTS)},
      {"sweep", "Sweep",
       bw_report_has(report, BW_REPORT_SWEEP) || bw_report_has(report, BW_REPORT_FIND)},
      {"ledger", "Ledger and checks", has_run},
      {"assumptions", "Assumptions", true},
      {"inputs", "Inputs", true},
      {"cautions", "Cautions", true},
  };
  (void)fputs("<nav aria-label=\"Sections\"><ul>\n", report->stream);
  for (size_t i = 0; i < BW_REPORT_COUNT(sections); i++) {
    if (sections[i].is_there) {
      (void)fprintf(report->stream, "<li><a href=\"#%s\">%s</a></li>\n", sections[i].id,
                    sections[i].title);
    }
  }
  (void)fputs("</ul></nav>\n", report->stream);
}

static void put_front(const struct bw_report *report) {
  put_head(report);
  bw_report_put_subject(report);
  bw_report_put_verdict(report);
  put_contents(report);
  bw_report_put_strategies(report);
}

static enum bw_status put_back(const struct bw_report *report, struct bw_diag *diag) {
  bw_report_put_handovers(report);
  bw_report_put_balance(report);
  bw_report_put_requirements(report);
  bw_report_put_descents(report);
  bw_report_put_faults(report);
  bw_report_put_sweep(report);
  bw_report_put_ledger(report);
  bw_report_put_assumptions(report);
  BW_TRY(bw_report_put_inputs(report, diag));
  bw_report_put_cautions(report);
  (void)fputs("</main>\n<script>", report->stream);
  put_lines(report->stream, SCRIPT, BW_REPORT_COUNT(SCRIPT));
  (void)fputs("</script>\n</body>\n</html>\n", report->stream);
  return BW_OK;
}

/* the text around the figures is written first, because it says how much room they have */
static enum bw_status put_page(struct bw_report *report, struct bw_diag *diag) {
  FILE *page = report->stream;
  char *back = NULL;
  size_t length = 0;
  put_front(report);
  const long front = ftell(page);
  report->stream = open_memstream(&back, &length);
  if (report->stream == NULL) {
    report->stream = page;
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  enum bw_status status = put_back(report, diag);
  const bool is_sound = fclose(report->stream) == 0;
  report->stream = page;
  if (status == BW_OK && !is_sound) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  const size_t used = length + (front > 0 ? (size_t)front : 0) + PAGE_MARGIN;
  if (status == BW_OK) {
    status = bw_report_put_figures(report, used < PAGE_MOST ? PAGE_MOST - used : 0, diag);
  }
  if (status == BW_OK) {
    (void)fwrite(back, 1, length, page);
  }
  free(back);
  return status;
}

enum bw_status bw_report_write(const char *folder, const char *version, FILE *stream,
                               struct bw_diag *diag) {
  struct bw_report report = {.folder = folder, .version = version, .stream = stream};
  enum bw_status status = bw_report_read(&report, diag);
  if (status == BW_OK) {
    status = put_page(&report, diag);
  }
  bw_report_free(&report);
  return status;
}
