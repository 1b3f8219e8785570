/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SHORT_TEXT = 24, MANY_COLUMNS = 12, CAPTION_LENGTH = 600 };

void bw_html_put(FILE *stream, const char *text) {
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
      (void)fputc((byte < ' ' && byte != '\n' && byte != '\t') || byte == 127 ? '?' : byte, stream);
    }
  }
}

void bw_html_section(FILE *stream, const char *id, const char *title) {
  (void)fprintf(stream, "<h2 id=\"%s\">%s</h2>\n", id, title);
}

static bool read_number(const char *text, double *number) {
  char *end = NULL;
  *number = strtod(text, &end);
  return text[0] != '\0' && *end == '\0' && isfinite(*number);
}

static void put_number(FILE *stream, double number, int places) {
  if (places >= 0) {
    /* no minus before a zero */
    const bool is_zero = fabs(number) < 0.5 * pow(10.0, -places);
    (void)fprintf(stream, "%.*f", places, is_zero ? 0.0 : number);
  } else if (places == BW_REPORT_POWER) {
    (void)fprintf(stream, "%.1e", number);
  } else {
    (void)fprintf(stream, "%.5g", number);
  }
}

/* a column as it is shown */
struct shown {
  const struct bw_report_column *column;
  size_t index;   /* in the file */
  bool is_number; /* of all its rows: then heading and cells are set to the right */
};

/* false when no row has a word in it */
static bool look_at(const struct bw_report_view *view, struct shown *shown) {
  double number = 0.0;
  bool has_any = false;
  shown->index = bw_report_table_column(view->table, shown->column->name);
  shown->is_number = true;
  for (size_t i = 0; i < view->rows && shown->index < view->table->columns; i++) {
    const size_t row = view->row != NULL ? view->row[i] : i;
    const char *text = bw_report_table_text(view->table, row, shown->index);
    has_any = has_any || text[0] != '\0';
    shown->is_number = shown->is_number && (text[0] == '\0' || read_number(text, &number));
  }
  return has_any;
}

/* columns that have anything to show, the first one always; gives their number */
static size_t find_shown(const struct bw_report_view *view, struct shown *shown) {
  size_t count = 0;
  for (size_t i = 0; i < view->columns; i++) {
    shown[count].column = &view->column[i];
    const bool has_any = look_at(view, &shown[count]);
    count += has_any || (i == 0 && shown[count].index < view->table->columns) ? 1 : 0;
  }
  return count;
}

static void put_cell(FILE *stream, const char *text, const struct shown *shown) {
  double number = 0.0;
  if (text[0] == '\0') {
    (void)fputs(shown->is_number ? "<td class=\"n\">–</td>" : "<td class=\"s\">–</td>", stream);
  } else if (read_number(text, &number)) {
    const double factor = shown->column->factor;
    (void)fputs("<td class=\"n\">", stream);
    put_number(stream, number * (factor > 0.0 ? factor : 1.0), shown->column->places);
    (void)fputs("</td>", stream);
  } else {
    /* short words stay whole, long names may break anywhere */
    const bool is_short = strlen(text) <= SHORT_TEXT;
    const bool is_bad = strcmp(text, "missed") == 0 || strcmp(text, "failed") == 0 ||
                        strcmp(text, "not ranked") == 0;
    (void)fputs(is_bad ? "<td class=\"bad s\">" : is_short ? "<td class=\"s\">" : "<td>", stream);
    bw_html_put(stream, text);
    (void)fputs("</td>", stream);
  }
}

/* a key may break behind its dots and underscores */
static void put_breakable(FILE *stream, const char *name) {
  for (const char *at = name; *at != '\0'; at++) {
    const char letter[2] = {*at, '\0'};
    bw_html_put(stream, letter);
    (void)fputs(*at == '.' || *at == '_' ? "<wbr>" : "", stream);
  }
}

static void put_header(FILE *stream, const struct shown *shown, size_t count) {
  (void)fputs("<thead><tr>", stream);
  for (size_t i = 0; i < count; i++) {
    const struct bw_report_column *column = shown[i].column;
    (void)fprintf(stream, "<th scope=\"col\"%s data-column=\"",
                  i > 0 && shown[i].is_number ? " class=\"n\"" : "");
    bw_html_put(stream, column->name);
    (void)fprintf(stream, "\"%s>", column->factor > 1.0 ? " data-factor=\"100\"" : "");
    if (column->title != NULL) {
      bw_html_put(stream, column->title);
    } else {
      put_breakable(stream, column->name);
    }
    (void)fputs("</th>", stream);
  }
  (void)fputs("</tr></thead>\n<tbody>\n", stream);
}

static void put_row(FILE *stream, const struct bw_report_table *table, size_t row,
                    const struct shown *shown, size_t count) {
  const char *head = bw_report_table_text(table, row, shown[0].index);
  (void)fprintf(stream, "<tr data-row=\"%zu\"><th scope=\"row\"%s>", row + 1,
                strlen(head) <= SHORT_TEXT ? " class=\"s\"" : "");
  bw_html_put(stream, head);
  (void)fputs("</th>", stream);
  for (size_t i = 1; i < count; i++) {
    put_cell(stream, bw_report_table_text(table, row, shown[i].index), &shown[i]);
  }
  (void)fputs("</tr>\n", stream);
}

void bw_html_table(FILE *stream, const struct bw_report_view *view) {
  struct shown shown[BW_REPORT_COLUMNS];
  BW_ASSERT(view->columns <= BW_REPORT_COLUMNS);
  const size_t count = find_shown(view, shown);
  if (count == 0) {
    return;
  }
  if (view->fold != NULL) {
    (void)fprintf(stream, "<details><summary>%s</summary>\n", view->fold);
  }
  (void)fprintf(stream,
                "<section class=\"wide\" aria-labelledby=\"%s-caption\" tabindex=\"0\">"
                "<table id=\"%s\"%s><caption id=\"%s-caption\"><span>%s</span></caption>\n",
                view->id, view->id, count > MANY_COLUMNS ? " class=\"many\"" : "", view->id,
                view->caption);
  put_header(stream, shown, count);
  for (size_t i = 0; i < view->rows; i++) {
    put_row(stream, view->table, view->row != NULL ? view->row[i] : i, shown, count);
  }
  (void)fputs("</tbody></table></section>\n", stream);
  if (view->fold != NULL) {
    (void)fputs("</details>\n", stream);
  }
}

void bw_report_put_first(const struct bw_report *report, enum bw_report_file file, size_t most,
                         const struct bw_report_view *view) {
  const struct bw_report_table *table = &report->table[file];
  struct bw_report_view first = *view;
  char caption[CAPTION_LENGTH];
  first.table = table;
  first.row = NULL;
  first.rows = table->rows < most ? table->rows : most;
  if (first.rows < table->rows_seen) {
    (void)snprintf(caption, sizeof caption,
                   "%s The first %zu of %zu; %zu are left out, %s holds them all.", view->caption,
                   first.rows, table->rows_seen, table->rows_seen - first.rows,
                   bw_report_file_name(file));
    first.caption = caption;
  }
  bw_html_table(report->stream, &first);
}
