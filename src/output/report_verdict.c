/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/path.h"
#include "output/report.h"

#include <math.h>
#include <string.h>

enum { MISSED_NAMED = 6, POINTS_NAMED = 6 };

static void put_lead(FILE *stream, const char *kind) {
  (void)fprintf(stream, "<p class=\"lead %s\">", kind);
}

/* rows of `table` whose `column` reads `value`, of one strategy or (NULL) of all */
static size_t count(const struct bw_report_table *table, const char *column, const char *value,
                    const char *strategy) {
  size_t found = 0;
  for (size_t row = 0; row < table->rows; row++) {
    const bool is_his =
        strategy == NULL || strcmp(bw_report_cell(table, row, "strategy"), strategy) == 0;
    found += is_his && strcmp(bw_report_cell(table, row, column), value) == 0 ? 1 : 0;
  }
  return found;
}

/* the best of what keeps every limit */
static void put_best(const struct bw_report *report) {
  const struct bw_report_table *summary = &report->table[BW_REPORT_SUMMARY];
  const size_t best = report->ranked[0];
  FILE *stream = report->stream;
  if (strcmp(bw_report_cell(summary, best, "verdict"), "kept") != 0) {
    return;
  }
  (void)fputs("<p>Most energy among those that kept them: <strong>", stream);
  bw_html_put(stream, bw_report_cell(summary, best, "strategy"));
  (void)fprintf(stream, "</strong>, %.1f kJ at the battery",
                bw_report_number(summary, best, "energy_battery_kj"));
  const double share = bw_report_number(summary, best, "recovered_share");
  const double dip = bw_report_number(summary, best, "dip_peak_mps2");
  if (isfinite(share)) {
    const bool has_trace = isfinite(bw_report_number(summary, best, "energy_trace_kj"));
    (void)fprintf(stream, ", %.2f %% of the braking work that %s", 100.0 * share,
                  has_trace ? "the trace asks for" : "its run demanded");
  }
  if (isfinite(dip)) {
    (void)fprintf(stream, "; its deepest dip is %.3f m/s²", dip);
  }
  (void)fputs(".</p>\n", stream);
}

static void put_of_run(const struct bw_report *report) {
  const struct bw_report_table *summary = &report->table[BW_REPORT_SUMMARY];
  const size_t kept = count(summary, "verdict", "kept", NULL);
  FILE *stream = report->stream;
  put_lead(stream, kept == summary->rows ? "good" : "bad");
  (void)fprintf(stream, "%zu of %zu strategies kept every acceptance limit of the case.</p>\n",
                kept, summary->rows);
  if (summary->rows > 0) {
    put_best(report);
  }
  const char *open = "<ul class=\"bad\">\n";
  for (size_t i = 0; i < summary->rows; i++) {
    const size_t row = report->ranked[i];
    const char *reason = bw_report_cell(summary, row, "verdict_reason");
    const char *verdict = bw_report_cell(summary, row, "verdict");
    if (reason[0] == '\0' && strcmp(verdict, "kept") == 0) {
      continue;
    }
    (void)fprintf(stream, "%s<li><strong>", open);
    open = "";
    bw_html_put(stream, bw_report_cell(summary, row, "strategy"));
    (void)fputs(": ", stream);
    bw_html_put(stream, verdict);
    (void)fputs("</strong>", stream);
    (void)fputs(reason[0] != '\0' ? ", " : "", stream);
    bw_html_put(stream, reason);
    (void)fputs("</li>\n", stream);
  }
  (void)fputs(open[0] == '\0' ? "</ul>\n" : "", stream);
}

static void put_of_assess(const struct bw_report *report) {
  const struct bw_report_table *assess = &report->table[BW_REPORT_ASSESS];
  const size_t missed = count(assess, "outcome", "missed", NULL);
  FILE *stream = report->stream;
  put_lead(stream, missed == 0 ? "good" : "bad");
  (void)fprintf(stream,
                "Published requirements: %zu kept, %zu missed, %zu not assessed "
                "(<a href=\"#requirements\">all</a>).</p>\n",
                count(assess, "outcome", "kept", NULL), missed,
                count(assess, "outcome", "not assessed", NULL));
  size_t named = 0;
  for (size_t row = 0; row < assess->rows && named < MISSED_NAMED; row++) {
    if (strcmp(bw_report_cell(assess, row, "outcome"), "missed") != 0) {
      continue;
    }
    (void)fputs(named == 0 ? "<ul class=\"bad\">\n<li><strong>" : "<li><strong>", stream);
    bw_html_put(stream, bw_report_cell(assess, row, "strategy"));
    (void)fputs(" misses ", stream);
    bw_html_put(stream, bw_report_cell(assess, row, "requirement"));
    (void)fputs("</strong>, ", stream);
    bw_html_put(stream, bw_report_cell(assess, row, "load_state"));
    (void)fprintf(stream, ": %.5g, limit %.5g ", bw_report_number(assess, row, "result"),
                  bw_report_number(assess, row, "limit"));
    bw_html_put(stream, bw_report_cell(assess, row, "unit"));
    (void)fputs(" (", stream);
    bw_html_put(stream, bw_report_cell(assess, row, "certainty"));
    (void)fputs(")</li>\n", stream);
    named++;
  }
  if (named > 0) {
    (void)fprintf(stream, "%s</ul>\n", missed > named ? "<li>and more</li>" : "");
  }
}

static void put_of_faults(const struct bw_report *report) {
  const struct bw_report_table *faults = &report->table[BW_REPORT_FAULTS];
  FILE *stream = report->stream;
  const size_t failed = count(faults, "status", "failed", NULL);
  put_lead(stream, failed == 0 ? "plain" : "bad");
  (void)fprintf(stream, "Faults: %zu pairs of fault and condition tried, %zu could not be driven",
                faults->rows_seen, failed);
  if (faults->rows > 0 && isfinite(bw_report_number(faults, 0, "further_m"))) {
    (void)fputs("; worst is ", stream);
    bw_html_put(stream, bw_report_cell(faults, 0, "fault"));
    (void)fprintf(stream, " with %.2f m further", bw_report_number(faults, 0, "further_m"));
  }
  (void)fputs(". No rating is given: that is the hazard analysis' task "
              "(<a href=\"#faults\">all</a>).</p>\n",
              stream);
}

static void put_of_sweep(const struct bw_report *report) {
  const struct bw_report_table *sweep = &report->table[BW_REPORT_SWEEP];
  const size_t failed = sweep->tally[0].count;
  /* a run that is not ranked may have missed a limit too, and sweep.csv tells it only in words */
  const size_t missed = sweep->tally[1].count;
  const size_t unranked = sweep->tally[2].count;
  put_lead(report->stream, failed + missed + unranked == 0 ? "good" : "bad");
  (void)fprintf(report->stream,
                "Sweep: %zu runs; verdict 'missed' %zu, 'not ranked' %zu, failed %zu "
                "(<a href=\"#sweep\">all</a>).</p>\n",
                sweep->rows_seen, missed, unranked, failed);
}

/* a number of find.csv with few digits, anything else as it is */
static void put_value(const struct bw_report_table *find, size_t row, const char *column,
                      FILE *stream) {
  const double number = bw_report_number(find, row, column);
  if (isfinite(number)) {
    (void)fprintf(stream, "%.6g", number);
  } else {
    bw_html_put(stream, bw_report_cell(find, row, column));
  }
}

/* where a search's condition holds first, and under which values of the other swept keys */
static void put_point(const struct bw_report_table *find, size_t row, FILE *stream) {
  const bool is_at_start = strcmp(bw_report_cell(find, row, "result"), "at-start") == 0;
  (void)fputs("<li><strong>", stream);
  bw_html_put(stream, bw_report_cell(find, row, "strategy"));
  (void)fputs(": ", stream);
  bw_html_put(stream, bw_report_cell(find, row, "find"));
  (void)fprintf(stream, "</strong> %s ", is_at_start ? "already at" : "first at");
  bw_html_put(stream, bw_report_cell(find, row, "along"));
  (void)fputs(" ", stream);
  put_value(find, row, "first", stream);
  if (is_at_start) {
    (void)fputs(", where the search starts", stream);
  } else {
    (void)fputs(", not yet at ", stream);
    put_value(find, row, "clear", stream);
  }
  /* keys stand before the strategy */
  for (size_t i = 0; i < bw_report_table_column(find, "strategy"); i++) {
    (void)fputs(i == 0 ? "; with " : ", ", stream);
    bw_html_put(stream, find->cell[i]);
    (void)fputs(" ", stream);
    bw_html_put(stream, bw_report_table_text(find, row, i));
  }
  (void)fputs("</li>\n", stream);
}

static void put_of_find(const struct bw_report *report) {
  const struct bw_report_table *find = &report->table[BW_REPORT_FIND];
  FILE *stream = report->stream;
  const size_t found = find->tally[0].count + find->tally[1].count;
  const size_t none = find->tally[2].count;
  put_lead(stream, "plain");
  (void)fprintf(stream,
                "Where it begins to go wrong: %zu searches; %zu found a point, %zu none in their "
                "range, %zu could not tell (<a href=\"#sweep\">all</a>).</p>\n",
                find->rows_seen, found, none, find->rows_seen - found - none);
  size_t named = 0;
  for (size_t row = 0; row < find->rows && named < POINTS_NAMED; row++) {
    const char *result = bw_report_cell(find, row, "result");
    if (strcmp(result, "found") == 0 || strcmp(result, "at-start") == 0) {
      (void)fputs(named == 0 ? "<ul>\n" : "", stream);
      put_point(find, row, stream);
      named++;
    }
  }
  if (named > 0) {
    (void)fprintf(stream, "%s</ul>\n", found > named ? "<li>and more</li>" : "");
  }
}

void bw_report_put_verdict(const struct bw_report *report) {
  bw_html_section(report->stream, "verdict", "Verdict");
  if (bw_report_has(report, BW_REPORT_SUMMARY)) {
    put_of_run(report);
  }
  if (bw_report_has(report, BW_REPORT_ASSESS)) {
    put_of_assess(report);
  }
  if (bw_report_has(report, BW_REPORT_FAULTS)) {
    put_of_faults(report);
  }
  if (bw_report_has(report, BW_REPORT_SWEEP)) {
    put_of_sweep(report);
  }
  if (bw_report_has(report, BW_REPORT_FIND)) {
    put_of_find(report);
  }
}
