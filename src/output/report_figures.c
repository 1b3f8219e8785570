/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report.h"

#include "alloc.h"
#include "output/figures.h"
#include "output/path.h"
#include "output/svg_inline.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { FIGURE_MOST = 8000000, STRATEGIES_MOST = 512, FIGURE_NAME = BW_FIGURE_FILE_MAX + 16 };

struct figures {
  const struct bw_report *report;
  size_t room; /* bytes left */
  size_t shown;
  size_t left_out; /* drawn, but no room */
  size_t stale;    /* older than what they are drawn of */
  size_t broken;   /* no SVG that can be read */
  size_t others;   /* drawn as PNG or PDF only */
  bool is_out_of_memory;
};

/* the time when a file of the folder was written; false when it is not there */
static bool find_time(const struct figures *figures, const char *name, struct stat *info) {
  char path[BW_FILE_PATH_MAX];
  return bw_path_join(path, figures->report->folder, name) && stat(path, info) == 0 &&
         S_ISREG(info->st_mode);
}

/* whether one of the tables behind a figure is newer than it */
static bool is_stale(const struct figures *figures, const struct bw_plot_figure *figure,
                     const struct stat *drawn) {
  for (size_t i = 0; i < BW_FIGURE_NEEDS && figure->need[i].file != NULL; i++) {
    struct stat info;
    if (strcmp(figure->need[i].file, BW_FIGURE_TRACE) != 0 &&
        find_time(figures, figure->need[i].file, &info) && drawn->st_mtime < info.st_mtime) {
      return true;
    }
  }
  return false;
}

/* the whole file, NULL when it cannot be read */
static char *read_whole(const struct figures *figures, const char *name, size_t size) {
  char path[BW_FILE_PATH_MAX];
  char *text = bw_path_join(path, figures->report->folder, name) ? bw_alloc(size + 1, 1) : NULL;
  FILE *stream = text != NULL ? fopen(path, "rb") : NULL;
  const bool is_whole = stream != NULL && fread(text, 1, size, stream) == size;
  if (stream != NULL) {
    (void)fclose(stream);
  }
  if (!is_whole) {
    bw_free(text);
    return NULL;
  }
  return text;
}

static void put_title(FILE *stream, const struct bw_figure_item *item) {
  bw_html_put(stream, item->figure->title);
  if (item->strategy != NULL) {
    (void)fputs(", strategy ", stream);
    bw_html_put(stream, item->strategy);
  }
}

/* the label and the markup of one figure; false when the file is no SVG */
static bool write_figure(const struct figures *figures, const struct bw_figure_item *item,
                         const char *svg, size_t size, FILE *stream) {
  char *label = NULL;
  size_t length = 0;
  FILE *memory = open_memstream(&label, &length);
  if (memory == NULL) {
    return false;
  }
  put_title(memory, item);
  (void)fputs(". ", memory);
  bw_html_put(memory, item->figure->reading);
  if (fclose(memory) != 0) {
    free(label);
    return false;
  }
  (void)fputs("<figure><div class=\"plate\" data-title=\"", stream);
  put_title(stream, item);
  (void)fputs("\">", stream);
  const bool is_sound = bw_svg_inline(svg, size, (unsigned)figures->shown + 1, label, stream);
  (void)fputs("</div><figcaption><strong>", stream);
  put_title(stream, item);
  (void)fputs(".</strong> ", stream);
  bw_html_put(stream, item->figure->reading);
  (void)fputs("</figcaption></figure>\n", stream);
  free(label);
  return is_sound;
}

/* whether the figure lies there in this form; `name` is its path in the folder */
static bool find_figure(const struct figures *figures, const struct bw_figure_item *item,
                        const char *ending, char name[FIGURE_NAME], struct stat *info) {
  char file[BW_FIGURE_FILE_MAX];
  bw_figure_file(item, ending, file);
  (void)snprintf(name, FIGURE_NAME, "figures/%s", file);
  return find_time(figures, name, info);
}

static void put_one(struct figures *figures, const struct bw_figure_item *item) {
  char name[FIGURE_NAME];
  struct stat info;
  if (!find_figure(figures, item, "svg", name, &info)) {
    const bool is_other = find_figure(figures, item, "png", name, &info) ||
                          find_figure(figures, item, "pdf", name, &info);
    figures->others += is_other ? 1 : 0;
    return;
  }
  if (is_stale(figures, item->figure, &info)) {
    figures->stale++;
    return;
  }
  char *svg = info.st_size < FIGURE_MOST ? read_whole(figures, name, (size_t)info.st_size) : NULL;
  char *text = NULL;
  size_t length = 0;
  FILE *memory = svg != NULL ? open_memstream(&text, &length) : NULL;
  bool is_sound = memory != NULL && write_figure(figures, item, svg, (size_t)info.st_size, memory);
  is_sound = memory != NULL && fclose(memory) == 0 && is_sound;
  if (!is_sound) {
    figures->broken++;
  } else if (length > figures->room) {
    figures->left_out++;
  } else {
    figures->is_out_of_memory =
        fwrite(text, 1, length, figures->report->stream) != length || figures->is_out_of_memory;
    figures->room -= length;
    figures->shown++;
  }
  free(text);
  bw_free(svg);
}

/* strategies of the folder: those of the run as they are ranked, then those of other tables */
static size_t find_strategies(const struct bw_report *report, const char **name) {
  static const enum bw_report_file files[] = {BW_REPORT_ASSESS, BW_REPORT_BALANCE,
                                              BW_REPORT_STATISTICS, BW_REPORT_SWEEP};
  size_t count = 0;
  const struct bw_report_table *summary = &report->table[BW_REPORT_SUMMARY];
  for (size_t i = 0; i < summary->rows && count < STRATEGIES_MOST; i++) {
    name[count++] = bw_report_cell(summary, report->ranked[i], "strategy");
  }
  for (size_t f = 0; f < BW_REPORT_COUNT(files); f++) {
    const struct bw_report_table *table = &report->table[files[f]];
    for (size_t row = 0; row < table->rows && count < STRATEGIES_MOST; row++) {
      const char *here = bw_report_cell(table, row, "strategy");
      bool is_known = here[0] == '\0';
      for (size_t i = 0; i < count && !is_known; i++) {
        is_known = strcmp(name[i], here) == 0;
      }
      if (!is_known) {
        name[count++] = here;
      }
    }
  }
  return count;
}

/* the figures of one strategy (NULL: of the whole folder) */
static void put_each(struct figures *figures, const char *strategy) {
  for (size_t i = 0; i < bw_figure_count(); i++) {
    const struct bw_figure_item item = {bw_figure_at(i), strategy};
    if (item.figure->is_per_strategy == (strategy != NULL)) {
      put_one(figures, &item);
    }
  }
}

/* the first strategy's are open, the others' wait folded: a page prints what is open */
static void put_of_strategy(struct figures *figures, const char *strategy, bool is_first) {
  char *text = NULL;
  size_t length = 0;
  struct bw_report inner = *figures->report;
  const struct bw_report *outer = figures->report;
  const size_t before = figures->shown;
  inner.stream = open_memstream(&text, &length);
  if (inner.stream == NULL) {
    figures->is_out_of_memory = true;
    return;
  }
  figures->report = &inner;
  put_each(figures, strategy);
  figures->report = outer;
  const bool is_sound = fclose(inner.stream) == 0;
  figures->is_out_of_memory = figures->is_out_of_memory || !is_sound;
  if (is_sound && figures->shown > before) {
    (void)fprintf(outer->stream, "<details%s><summary>Strategy ", is_first ? " open" : "");
    bw_html_put(outer->stream, strategy);
    (void)fprintf(outer->stream, ": %zu figures</summary>\n", figures->shown - before);
    (void)fwrite(text, 1, length, outer->stream);
    (void)fputs("</details>\n", outer->stream);
  }
  free(text);
}

static void put_counts(const struct figures *figures) {
  FILE *stream = figures->report->stream;
  bool has_other = false;
  for (enum bw_report_file file = 0; file < BW_REPORT_FILES; file++) {
    has_other = has_other || (file != BW_REPORT_FIND && bw_report_has(figures->report, file));
  }
  if (!has_other) {
    (void)fputs("<p>A search has no figures.</p>\n", stream);
    return;
  }
  (void)fprintf(stream, "<p>%zu figures", figures->shown);
  if (figures->left_out > 0) {
    (void)fprintf(stream,
                  "; %zu more are left out, so that the page stays below 3 MiB, and lie in "
                  "the folder's figures/",
                  figures->left_out);
  }
  if (figures->stale > 0) {
    (void)fprintf(stream, "; %zu are older than the results and not shown, draw them again",
                  figures->stale);
  }
  if (figures->broken > 0) {
    (void)fprintf(stream, "; %zu are no SVG that can be read", figures->broken);
  }
  if (figures->others > 0) {
    (void)fprintf(stream, "; %zu lie in the folder's figures/ as PNG or PDF only", figures->others);
  }
  (void)fputs(
      figures->shown == 0
          ? ". 'brakeweave plot FOLDER' draws them as SVG, then make the report again.</p>\n"
          : ". Buttons, plus, minus and Ctrl with the wheel zoom; the pointer or the arrow "
            "keys read values off the axes.</p>\n",
      stream);
}

enum bw_status bw_report_put_figures(const struct bw_report *report, size_t room,
                                     struct bw_diag *diag) {
  struct figures figures = {.report = report, .room = room};
  const char **strategy = bw_alloc(STRATEGIES_MOST, sizeof *strategy);
  if (strategy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  bw_html_section(report->stream, "figures", "Figures");
  put_each(&figures, NULL);
  const size_t count = find_strategies(report, strategy);
  const size_t before = figures.shown;
  for (size_t i = 0; i < count; i++) {
    put_of_strategy(&figures, strategy[i], figures.shown == before);
  }
  put_counts(&figures);
  bw_free(strategy);
  return figures.is_out_of_memory ? bw_fail(diag, BW_E_MEMORY, "out of memory for the figures")
                                  : BW_OK;
}
